import { describe, expect, test } from 'vitest';
import { marksFrom } from '../../../../src/core/marks/markset';
import { boundsOf, classesByRank, cutIntoStretches, summedSuspicion } from '../../../../src/core/sample/stretches';
import { span } from '../../../../src/core/units';

// Expected values: counted by hand from the definitions.

describe('stretches', () => {
  test('are cut within each segment, by time, the last one shorter', () => {
    const cut = cutIntoStretches([span(5000, 7000), span(0, 2500)], 100, 10);
    expect(cut).toEqual([span(0, 1000), span(1000, 2000), span(2000, 2500), span(5000, 6000), span(6000, 7000)]);
  });

  test('cannot be cut from segments that overlap', () => {
    expect(() => cutIntoStretches([span(0, 2500), span(2400, 5000)], 100, 10)).toThrow('sample one of them');
  });

  test('of an empty segment there are none', () => {
    expect(cutIntoStretches([span(10, 10)], 100, 10)).toEqual([]);
  });
});

describe('bounds', () => {
  const stretches = cutIntoStretches([span(0, 10_000)], 100, 5);
  const every = (samples: number, from = 0, to = 10_000) =>
    marksFrom(Array.from({ length: Math.ceil((to - from) / samples) }, (_, i) => from + i * samples));

  test('of one mark a second are ceil(1.25 x 5) + 1', () => {
    expect(new Set(boundsOf(stretches, every(100), null, 100))).toEqual(new Set([8]));
  });

  test('never fall below one interval a second, also without any mark', () => {
    expect(new Set(boundsOf(stretches, marksFrom([]), null, 100))).toEqual(new Set([8]));
  });

  test('go by the stretch itself, by the second detector, and by what is usual around', () => {
    // 10 marks in the first stretch, 5 in the others: the median is 5.
    const detected = marksFrom([...every(50, 0, 500), ...every(100, 500)]);
    const second = every(25, 500, 1000);
    expect(boundsOf(stretches, detected, second, 100).slice(0, 3)).toEqual([14, 26, 8]);
    // 8 a stretch around, none in the first one: ceil(1.25 x 8) + 1.
    const missing = marksFrom([...every(62, 501)]);
    expect(boundsOf(stretches, missing, null, 100)[0]).toBe(11);
  });

  test('take what is usual from 5 min on either side only', () => {
    const long = cutIntoStretches([span(0, 200_000)], 100, 10);
    // Two marks a second from 1000 s on.
    const detected = marksFrom([...every(100, 0, 100_000), ...every(50, 100_000, 200_000)]);
    const bounds = boundsOf(long, detected, null, 100);
    // Stretch 40 begins at 400 s and takes 100 to 710 s, stretch 160 begins at 1600 s.
    expect(bounds[40]).toBe(14);
    expect(bounds[160]).toBe(26);
  });
});

describe('classes', () => {
  test('suspicion adds up within a stretch, and what lies in none is left out', () => {
    const stretches = [span(0, 10), span(10, 20), span(30, 40)];
    const found = [
      { at: 0, score: 0.5 },
      { at: 9, score: 0.25 },
      { at: 10, score: 0.125 },
      { at: 25, score: 1 },
      { at: 40, score: 1 },
    ];
    expect([...summedSuspicion(stretches, found)]).toEqual([0.75, 0.125, 0]);
  });

  test('go by rank: 2, 6, 15 and 40 % and the rest, ties to the lower index', () => {
    const suspicion = Float64Array.from({ length: 200 }, (_, i) => (i < 100 ? 0 : i));
    const classes = classesByRank(suspicion);
    expect([0, 1, 2, 3, 4].map(h => classes.filter(c => c === h).length)).toEqual([4, 12, 30, 80, 74]);
    expect(classes.slice(196)).toEqual([0, 0, 0, 0]);
    expect(classes.slice(184, 196)).toEqual(new Array(12).fill(1));
    // 54 of the 80 lie above the zeros; the other 26 are the first of the zeros.
    expect(classes.slice(0, 27)).toEqual([...new Array(26).fill(3), 4]);
  });
});
