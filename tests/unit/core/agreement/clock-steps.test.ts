import { describe, expect, test } from 'vitest';
import { alignClocks } from '../../../../src/core/agreement/clock';
import { mutualPairs, residualsOf, robustLine, voteForLine } from '../../../../src/core/agreement/clock-line';
import { coarseOffsets } from '../../../../src/core/agreement/heart-rate-lag';
import { median } from '../../../../src/core/moments';
import { randomFromNumber } from '../../../../src/core/random';
import { amount } from '../../amount';

/** Beats of a heart whose rate wanders slowly and breathes, from `from` s on. */
function beatsOf(seed: number, seconds: number, from = 0): Float64Array {
  const random = randomFromNumber(seed);
  const beats: number[] = [];
  let wander = 0;
  for (let t = from; t < from + seconds; ) {
    wander = 0.98 * wander + 0.008 * random.normal();
    t += Math.max(0.4, 0.8 + wander + 0.03 * Math.sin(1.5 * t));
    beats.push(t);
  }
  return Float64Array.from(beats);
}

const without = (beats: Float64Array, seed: number, share: number) => {
  const random = randomFromNumber(seed);
  return beats.filter(() => random.uniform() >= share);
};
const moved = (beats: Float64Array, offset: number, drift = 0) => beats.map(t => offset + (1 + drift) * t);

// source: the planted offset; the search has steps of one second
describe('the coarse search', () => {
  test.each([0, 137.4, -211.7, 600, -600])('finds an offset of %d s first', offset => {
    const a = beatsOf(1, 900, 700);
    expect(Math.abs(coarseOffsets(a, moved(a, offset), 3)[0]! - offset)).toBeLessThanOrEqual(1);
  });

  test('is not misled by missed beats on both sides, nor by another start and end', () => {
    const all = beatsOf(2, 1500);
    const a = without(all, 5, 0.25).filter(t => t > 200);
    const b = moved(without(all, 6, 0.25), 45.3).filter(t => t < 1200);
    expect(Math.abs(coarseOffsets(a, b, 1)[0]! - 45.3)).toBeLessThanOrEqual(1);
  });

  test('gives no more than asked for, all different, and none beyond a little over ten minutes', () => {
    const a = beatsOf(3, 1500);
    const b = beatsOf(4, 1500, 30);
    const five = coarseOffsets(a, b, 5);
    expect(five).toHaveLength(5);
    const many = coarseOffsets(a, b, 1000);
    expect(many.slice(0, 5)).toEqual(five);
    expect(new Set(many).size).toBe(many.length);
    for (const offset of many) expect(Math.abs(offset)).toBeLessThanOrEqual(611);
  });

  test('needs a minute and a half in common', () => {
    const a = beatsOf(5, 100);
    for (const offset of coarseOffsets(a, moved(a, 0), 1000)) expect(Math.abs(offset)).toBeLessThan(15);
    expect(coarseOffsets(beatsOf(5, 80), beatsOf(5, 80), 9)).toEqual([]);
    expect(coarseOffsets(beatsOf(5, 300), beatsOf(5, 300, 2000), 9)).toEqual([]);
  });
});

test('the coarse search finds nothing in a rate that never changes, nor where no interval is like the others', () => {
  const metronome = Float64Array.from({ length: 400 }, (_, i) => i / 2);
  expect(coarseOffsets(metronome, metronome, 5)).toEqual([]);
  const turns = Float64Array.from({ length: 11 }, (_, i) => 12.5 * i - (i % 2 === 0 ? 0 : 7.5));
  expect(coarseOffsets(turns, turns, 5)).toEqual([]);
});

// source: the planted line; a vote is a pair of beats within a bin and a half (15 ms) of a line
describe('votes for a line', () => {
  test.each([
    [0, 0],
    [12.34, 150e-6],
    [-301.2, -200e-6],
  ])('offset %d s, drift %d', (offset, drift) => {
    const a = beatsOf(7, 1200);
    const vote = voteForLine(a, moved(a, offset, drift), offset + 0.4, 2.5);
    const middle = (a[0]! + a.at(-1)!) / 2;
    const off = vote.offset + vote.drift * middle - (offset + drift * middle);
    expect(Math.abs(off)).toBeLessThan(0.015);
    expect(Math.abs(vote.drift - drift)).toBeLessThan(0.02 / (middle - a[0]!));
    expect(vote.votes).toBeGreaterThanOrEqual(a.length);
    expect(vote.votes).toBeLessThan(1.1 * a.length);
    expect(vote.rivalVotes).toBeLessThan(vote.votes / 2);
    expect(vote.rivalVotes).toBeGreaterThan(0);
  });

  test('of a metronome have a rival as good', () => {
    const a = Float64Array.from({ length: 600 }, (_, i) => i * 0.8);
    const vote = voteForLine(a, a, 0, 2.5);
    expect(vote.votes).toBe(600);
    expect(vote.rivalVotes).toBeGreaterThan(590);
  });
});

describe('a line through pairs', () => {
  const a = Float64Array.of(10, 20, 30, 40);
  const line = { offset: 5, drift: 0.1 };

  // source: by hand; 5 + 1.1 x 10 = 16, 5 + 1.1 x 40 = 49
  test('has residuals of B less the line', () => {
    const b = Float64Array.of(16.02, 48.99);
    const pairs = { a: Int32Array.of(0, 3), b: Int32Array.of(0, 1) };
    const [first, last] = residualsOf(a, b, pairs, line);
    expect(first).toBeCloseTo(0.02, 12);
    expect(last).toBeCloseTo(-0.01, 12);
  });

  // source: the planted line; outliers within the pairing tolerance must not move it
  test('is found among outliers', () => {
    const random = randomFromNumber(9);
    const times = beatsOf(8, 1200);
    const b = moved(times, 3, 80e-6).map(t => t + (random.uniform() < 0.2 ? 0.04 : 0));
    const pairs = mutualPairs(times, b, { offset: 3, drift: 80e-6 }, 0.05);
    expect(pairs.a).toHaveLength(times.length);
    const found = robustLine(times, b, pairs, { offset: 3.01, drift: 60e-6 });
    expect(Math.abs(found.offset - 3)).toBeLessThan(1e-6);
    expect(Math.abs(found.drift - 80e-6)).toBeLessThan(1e-8);
  });

  // source: definition; noise that takes turns has the mean 0 and no slope
  test('weighs noise alike on both sides', () => {
    const times = Float64Array.from({ length: 401 }, (_, i) => i);
    const b = times.map((t, i) => 2 + t + (i % 2 === 0 ? 0.003 : -0.003));
    const pairs = mutualPairs(times, b, { offset: 2, drift: 0 }, 0.05);
    const found = robustLine(times, b, pairs, { offset: 2, drift: 0 });
    expect(Math.abs(found.offset - 2)).toBeLessThan(5e-5);
    expect(Math.abs(found.drift)).toBeLessThan(1e-6);
  });

  test('pairs each beat once, within the tolerance, over gaps on either side', () => {
    const here = Float64Array.of(1, 2, 3, 4, 5, 6);
    const there = Float64Array.of(1.04, 2.06, 4, 5.05, 9);
    const pairs = mutualPairs(here, there, { offset: 0, drift: 0 }, 0.0501);
    expect([[...pairs.a], [...pairs.b]]).toEqual([
      [0, 3, 4],
      [0, 2, 3],
    ]);
    const shifted = mutualPairs(here, moved(here, 10, 0.5), { offset: 10, drift: 0.5 }, 0.01);
    expect([...shifted.a]).toEqual([0, 1, 2, 3, 4, 5]);
    expect(shifted.b).toEqual(shifted.a);
  });
});

describe('aligned clocks', () => {
  const all = beatsOf(21, 1500);

  // source: the planted clock; beats counted by hand between the later start and the earlier end, on A's clock
  test('say what the two have in common', () => {
    const random = randomFromNumber(3);
    const a = all.filter(t => t > 100);
    const b = moved(
      all.filter(t => t < 1300),
      20,
      100e-6,
    ).map(t => t + 0.002 * random.normal());
    const found = alignClocks(a, b);
    if (!found.found) throw new Error(found.reason);
    const common = all.filter(t => t > 100 && t < 1300).length;
    expect(found.pairs.a).toHaveLength(common);
    // The first and the last beat may fall beside the other's by their noise.
    for (const n of [found.beatsInOverlapA, found.beatsInOverlapB]) expect(Math.abs(n - common)).toBeLessThanOrEqual(2);
    expect(Math.abs(found.offsetSeconds - 20)).toBeLessThan(0.001);
    expect(Math.abs(found.driftPpm - 100)).toBeLessThan(1);
    expect(found.residualSdMs).toBeCloseTo(1.4826 * median(found.residualsMs.map(Math.abs)), 9);
    const line = { offset: found.offsetSeconds, drift: 1e-6 * found.driftPpm };
    const residuals = residualsOf(a, b, found.pairs, line);
    for (const [i, r] of residuals.entries()) expect(found.residualsMs[i]).toBeCloseTo(1000 * r, 6);
  });

  test('are refused with their reason', () => {
    const reason = (a: ArrayLike<number>, b: ArrayLike<number>) => {
      const result = alignClocks(a, b);
      return result.found ? 'found' : result.reason;
    };
    expect(reason(all, all.slice(0, 39))).toBe('fewer than 40 beats on one recorder');
    expect(reason(all.slice(0, 39), all)).toBe('fewer than 40 beats on one recorder');
    expect(reason(all, moved(all, 5000))).toBe('the recordings do not overlap long enough');
    expect(reason(without(all, 41, 0.7), without(all, 42, 0.7))).toMatch(/^only \d+ beats agree, of \d+ and \d+ in/);
    const seconds = amount(1500, 400);
    expect(
      reason(
        all.filter(t => t < seconds),
        beatsOf(22, seconds),
      ),
    ).toMatch(/several offsets fit alike|beats agree/);
  });

  test('are found where each recorder misses four beats in ten', () => {
    const found = alignClocks(without(all, 31, 0.4), moved(without(all, 32, 0.4), -75.25, -50e-6));
    if (!found.found) throw new Error(found.reason);
    expect(Math.abs(found.offsetSeconds + 75.25)).toBeLessThan(0.001);
    expect(Math.abs(found.driftPpm + 50)).toBeLessThan(1);
  });
});
