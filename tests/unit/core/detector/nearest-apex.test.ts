import { describe, expect, test } from 'vitest';
import { nearestApex, polarityAt } from '../../../../src/core/detector/nearest-apex';

const rateHz = 500;

/** Triangles of +- 20 ms at the given places and heights on a sloping baseline. */
function waves(places: readonly (readonly [number, number])[], slope = 0, length = 2000): Int16Array {
  const words = new Int16Array(length).map((_, i) => Math.round(slope * i));
  for (const [at, height] of places) {
    for (let d = -10; d <= 10; d++) words[at + d]! += Math.round(height * (1 - Math.abs(d) / 10));
  }
  return words;
}

describe('the apex nearest to the caret', () => {
  test.each([
    ['an upright wave', 800, 40],
    ['an inverted wave', -800, -40],
    ['a wave on a rising baseline', 800, 30],
  ])('is found on %s from either side', (_name, height, from) => {
    const words = waves([[1000, height]], height === 800 && from === 30 ? 3 : 0);
    for (const caret of [1000, 1000 + from, 1000 - from]) expect(nearestApex(words, caret, rateHz)).toBe(1000);
  });

  test('of two like waves is the near one', () => {
    const words = waves([
      [1000, 800],
      [1060, 800],
    ]);
    expect(nearestApex(words, 1020, rateHz)).toBe(1000);
    expect(nearestApex(words, 1040, rateHz)).toBe(1060);
  });

  test('is of the polarity asked for, even beside a taller wave of the other', () => {
    const words = waves([
      [1000, 400],
      [1035, -900],
    ]);
    expect(nearestApex(words, 1000, rateHz, 1)).toBe(1000);
    expect(nearestApex(words, 1000, rateHz, -1)).toBe(1035);
    expect(nearestApex(words, 1010, rateHz)).toBe(1035);
  });

  test('stays within 150 ms, and within the recording', () => {
    const words = waves([[1000, 800]]);
    expect(Math.abs(nearestApex(words, 900, rateHz) - 900)).toBeLessThanOrEqual(75 + 10);
    expect(nearestApex(new Int16Array(10), 4, rateHz)).toBe(4);
  });
});

describe('the polarity of marks', () => {
  const up = waves([100, 500, 900, 1300].map(at => [at, 800] as const));
  const mixed = waves([100, 500, 900, 1300].map((at, i) => [at, i % 2 === 0 ? 800 : -800] as const));

  test.each([
    ['upright', up, [100, 500, 900, 1300], 1],
    ['inverted', up.map(w => -w), [100, 500, 900, 1300], -1],
    ['no majority', mixed, [100, 500, 900, 1300], undefined],
    [
      'three of four upright',
      waves([
        [100, 800],
        [500, 800],
        [900, 800],
        [1300, -800],
      ]),
      [100, 500, 900, 1300],
      1,
    ],
    ['too few', up, [100, 500], undefined],
    ['those at the very ends do not count', up, [0, 5, 1999, 100, 500], undefined],
  ] as const)('%s', (_name, words, marks, polarity) => {
    expect(polarityAt(words, marks, rateHz)).toBe(polarity);
  });
});
