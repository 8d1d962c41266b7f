import { describe, expect, test } from 'vitest';
import { apexToInsert, apexToSnap, otherPeak } from '../../../../src/core/detector/nearest-apex';
import { apexRow } from '../../../bench/apex';
import { openRecordings, openRecordingsPresent } from '../../../bench/open-recordings';

const rateHz = 500;

type Wave = readonly [at: number, height: number, halfWidth?: number];

/** Triangles at the given places, of the given heights and half widths (20 ms unless said), on a sloping baseline. */
function waves(places: readonly Wave[], slope = 0, length = 6000): Int16Array {
  const words = new Int16Array(length).map((_, i) => Math.round(slope * i));
  for (const [at, height, half = 10] of places) {
    for (let d = -half; d <= half; d++) words[at + d]! += Math.round(height * (1 - Math.abs(d) / half));
  }
  return words;
}

/** A narrow beat with a flat T wave, marked on its peak; a wide one, first up, then deeper down, marked on its first peak. */
const narrow = (at: number): Wave[] => [
  [at, 800],
  [at + 130, 200, 50],
];
const wide = (at: number): Wave[] => [
  [at, 500, 40],
  [at + 60, -900, 40],
];

describe('the apex of the family', () => {
  const narrowAt = [500, 1000, 1500, 2500, 3000, 3500];
  const wideAt = [2000, 4000, 4500, 5000];
  const words = waves([...narrowAt.flatMap(narrow), ...wideAt.flatMap(wide)]);
  const all = [...narrowAt, ...wideAt];
  const without = (at: number) => all.filter(m => m !== at);

  test.each(all)('leaves a mark that is right by its family: %i', at => {
    expect(apexToSnap(words, at, without(at), rateHz)).toBe(at);
    expect(apexToInsert(words, at, without(at), rateHz)).toBe(at);
  });

  test.each([-40, -30, 30, 40, 60])('takes a narrow beat marked %i samples beside its peak to it', off => {
    expect(apexToSnap(words, 2500 + off, without(2500), rateHz)).toBe(2500);
  });

  test('takes a mark on a T wave to the beat when it is in reach', () => {
    const near = waves([500, 1000, 1500, 2000].flatMap(at => [[at, 800] as Wave, [at + 60, 200, 25] as Wave]));
    expect(apexToSnap(near, 1560, [500, 1000, 2000], rateHz)).toBe(1500);
  });

  test('puts an inserted wide beat where wide beats are marked, not on its deeper wave', () => {
    for (const from of [1990, 2000, 2010]) {
      expect(Math.abs(apexToInsert(words, from, without(2000), rateHz) - 2000)).toBeLessThanOrEqual(5);
    }
  });

  test('is not asked of fewer than three like beats: a mark stays, an insertion takes the wave under the caret', () => {
    expect(apexToSnap(words, 2540, [500, 1000], rateHz)).toBe(2540);
    expect(apexToInsert(words, 2510, [500, 1000], rateHz)).toBe(2500);
    expect(apexToInsert(waves([[1000, -800]]), 1012, [], rateHz)).toBe(1000);
    expect(apexToInsert(waves([[1000, 800]], 3), 985, [], rateHz)).toBe(1000);
  });

  test('is not looked for past the ends or in a flat line', () => {
    expect(apexToInsert(new Int16Array(10), 4, [], rateHz)).toBe(4);
    expect(apexToSnap(new Int16Array(6000), 3000, all, rateHz)).toBe(3000);
    expect(apexToSnap(words, 2, all, rateHz)).toBe(2);
  });
});

describe('the nearest other peak', () => {
  const words = waves([
    [1000, 800],
    [1040, -900],
    [930, 300],
  ]);

  test('is the nearest of either sign, and never the one the mark is on', () => {
    expect(otherPeak(words, 1000, rateHz)).toBe(1040);
    expect(otherPeak(words, 1003, rateHz)).toBe(1040);
    expect(otherPeak(words, 1040, rateHz)).toBe(1000);
    expect(otherPeak(words, 960, rateHz)).toBe(930);
  });

  test('is null where there is none within 150 ms', () => {
    expect(otherPeak(waves([[1000, 800]]), 1000, rateHz)).toBeNull();
    expect(otherPeak(new Int16Array(6000), 3000, rateHz)).toBeNull();
  });
});

// MIT-BIH Arrhythmia Database, expert marks (open data); every fiftieth here, all of them in tests/bench/apex.ts.
describe.skipIf(!openRecordingsPresent)('expert marks of the open recordings', () => {
  test.each(openRecordings)('%s: a snap moves none by more than 10 ms, an insertion lands on each', name => {
    const row = apexRow(name, 50);
    expect(row.marks).toBeGreaterThan(30);
    expect(row.over10).toBe(0);
    expect(row.insertedOff).toBe(0);
    expect(row.back).toBeGreaterThan(0.5 * row.shifted);
  });
});

test.runIf(!openRecordingsPresent)('expert marks: not run, open recordings absent', () => {
  expect(openRecordingsPresent).toBe(false);
});
