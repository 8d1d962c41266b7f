import { describe, expect, test } from 'vitest';
import { randomFromNumber } from '../../../../src/core/random';
import {
  type BootstrapResult,
  clusterBootstrap,
  clusterBootstraps,
  defaultBootstrapSettings,
  meanOver,
  pairedDifference,
  pooledRatio,
  ratioOfSums,
  resampledCounts,
  resamples,
  sdOver,
  sumBootstraps,
} from '../../../../src/core/score/bootstrap';
import { clusterJackknife, clusterRatio } from '../../../../src/core/score/cluster-ratio';
import reference from '../../../reference/bootstrap/bootstrap.json';
import { amount } from '../../amount';

const settings = { draws: amount(40_000, 10_000), seed: 7, level: 0.95 };
/** Resampling error grows with the root of the share of draws left out. */
const slack = Math.sqrt(40_000 / settings.draws);
const { right, total } = reference;

function computed(result: BootstrapResult) {
  if (result.value === null) throw new Error(result.reason);
  return result;
}

/** Percentiles of an interval whose plain tails are the asked ones. */
function sortedPercentile(statistic: Parameters<typeof clusterBootstrap>[1]) {
  return (share: number) => {
    const tail = Math.min(share, 1 - share);
    const { percentile } = computed(clusterBootstrap(right.length, statistic, { ...settings, level: 1 - 2 * tail }));
    return percentile![share < 0.5 ? 0 : 1];
  };
}

describe('cluster bootstrap', () => {
  // source: SciPy 1.10, scipy.stats.bootstrap with 200,000 resamples; agreement to resampling error
  test.each([
    ['pooled ratio', pooledRatio(right, total), reference.ratio],
    ['mean of shares', meanOver(right.map((r, i) => r / total[i]!)), reference.mean],
  ] as const)('%s', (_name, statistic, expected) => {
    const result = computed(clusterBootstrap(right.length, statistic, settings));
    for (const side of [0, 1] as const) {
      expect(Math.abs(result.percentile![side] - expected.percentile[side]!)).toBeLessThan(0.001 * slack);
      expect(Math.abs(result.bca![side] - expected.BCa[side]!)).toBeLessThan(0.002 * slack);
    }
    // source: Hesterberg, Am Stat 2015;69:371, alpha'/2 = Phi(-sqrt(8 / 7) t), t with 7 df 2.3646243 (tables): 0.00573
    const draws = sortedPercentile(statistic);
    expect(result.expandedPercentile![0]).toBeCloseTo(draws(0.00573), 3);
    expect(result.expandedPercentile![1]).toBeCloseTo(draws(1 - 0.00573), 3);
    expect(result.expandedBca![0]).toBeLessThan(result.bca![0]);
    expect(result.expandedBca![1]).toBeGreaterThan(result.bca![1]);
  });

  test('the same seed gives the same intervals, another seed others', () => {
    const run = (seed: number) => clusterBootstrap(8, pooledRatio(right, total), { ...defaultBootstrapSettings, seed });
    expect(run(4)).toEqual(run(4));
    expect(run(4)).not.toEqual(run(5));
    expect(run(4)).toMatchObject({ draws: 2000, seed: 4, n: 8, undefinedDraws: 0 });
  });

  // source: definition; a constant difference of pairs has no spread though both sides have
  test('pairs stay together', () => {
    const first = [5, 9, 1, 7];
    const second = first.map(v => v - 2);
    const result = computed(clusterBootstrap(4, pairedDifference(meanOver(first), meanOver(second))));
    expect(result.value).toBe(2);
    expect(result.percentile === null || result.percentile[1] - result.percentile[0] < 1e-12).toBe(true);
  });

  test('participants without a value are passed over', () => {
    expect(meanOver([1, Number.NaN, 3])(Int32Array.of(1, 1, 1))).toBe(2);
    expect(sdOver([1, Number.NaN, 3])(Int32Array.of(1, 1, 1))).toBeCloseTo(Math.SQRT2, 14);
    const result = computed(clusterBootstrap(3, pooledRatio([1, 0, 3], [2, 0, 4])));
    expect(result.value).toBeCloseTo(4 / 6, 14);
    expect(result.undefinedDraws).toBeGreaterThan(0);
  });

  test('says why it cannot be computed', () => {
    expect(clusterBootstrap(0, pooledRatio([], []))).toEqual({ value: null, reason: 'no participant' });
    expect(clusterBootstrap(1, pooledRatio([1], [2]))).toMatchObject({
      value: 0.5,
      percentile: null,
      intervalReason: 'needs two participants',
    });
    expect(clusterBootstrap(2, pooledRatio([0, 0], [0, 0]))).toMatchObject({ value: null });
    expect(clusterBootstrap(3, pooledRatio([2, 3, 4], [2, 3, 4]))).toMatchObject({
      value: 1,
      bca: null,
      intervalReason: 'every resample gives the same value',
    });
    expect(() => clusterBootstrap(3, meanOver([1, 2, 3]), { ...settings, draws: 5 })).toThrow(RangeError);
  });

  // source: the same statistics one at a time, which see the same draws
  test('draws once for several statistics', () => {
    const statistics = { pooled: pooledRatio(right, total), mean: meanOver(right), none: meanOver([Number.NaN]) };
    const together = clusterBootstraps(8, statistics);
    expect(together.pooled).toEqual(clusterBootstrap(8, statistics.pooled));
    expect(together.mean).toEqual(clusterBootstrap(8, statistics.mean));
    expect(together.none).toMatchObject({ value: null });
  });

  // source: definition
  test.each([2, 3, 8, 30, 1200])('draws of %i participants in order are the same draws', participants => {
    const { times, repeats } = resamples(participants, { draws: 200, seed: 3 });
    const drawOf = (all: Uint16Array, i: number) => all.subarray(i * participants, (i + 1) * participants).join();
    const inOrder = [...repeats].flatMap((count, i) => Array<string>(count).fill(drawOf(times, i)));
    const drawn = resampledCounts(participants, participants, 200, 3);
    expect(inOrder.sort()).toEqual(Array.from({ length: 200 }, (_, i) => drawOf(drawn, i)).sort());
  });

  // source: the same ratio from each draw anew; sums of whole numbers are exact in any order
  test('sums that go on from those of the draw before are the sums of each draw', () => {
    const of = (size: number) =>
      right.map((part, i) => Float64Array.from({ length: size }, (_, k) => (k === 0 ? part : k === 1 ? total[i]! : i)));
    for (const size of [2, 20, 17_000]) {
      const { ratio } = sumBootstraps(of(size), { ratio: ratioOfSums(0, 1) });
      expect(ratio).toEqual(clusterBootstrap(right.length, pooledRatio(right, total)));
    }
  });
});

describe('pooled proportion with clustered variance', () => {
  // source: definition of the jackknife, by hand: without a right one 29 of 39 are left, without a wrong one 30 of 39;
  // 97.5th percentile of t with 39 df 2.0226909 (tables)
  test('one interval a participant', () => {
    const parts = Array.from({ length: 40 }, (_, i) => (i < 30 ? 1 : 0));
    const result = clusterRatio(
      parts,
      parts.map(() => 1),
    );
    if (result.value === null) throw new Error(result.reason);
    const apart = Math.log(30 / 9) - Math.log(29 / 10);
    const half = 2.0226909 * Math.sqrt((39 / 40) * 40 * 0.75 * 0.25 * apart ** 2);
    const logit = (p: number) => Math.log(p / (1 - p));
    expect(result).toMatchObject({ value: 0.75, variant: 'jackknife' });
    expect(logit(result.interval![0])).toBeCloseTo(Math.log(3) - half, 6);
    expect(logit(result.interval![1])).toBeCloseTo(Math.log(3) + half, 6);
  });

  // source: definition; without the one participant that has all the mistakes there is no logit, so the variance is
  // linearized: residuals 0.3, 0.3, -0.6 x 100, t with 2 df 4.3026527 (tables)
  test('one participant with all the mistakes', () => {
    const result = clusterRatio([100, 100, 10], [100, 100, 100]);
    if (result.value === null) throw new Error(result.reason);
    expect(result.variant).toContain('linearization');
    const half = (4.3026527 * Math.sqrt(1.5 * (30 ** 2 + 30 ** 2 + 60 ** 2))) / (300 * 0.7 * 0.3);
    expect(Math.log(result.interval![0] / (1 - result.interval![0]))).toBeCloseTo(Math.log(7 / 3) - half, 6);
  });

  // source: definition; the jackknife of a mean is its plain standard error (Efron & Tibshirani 1993, ch. 11)
  test('of a mean the interval is that of the t test', () => {
    const values = [3, 5, 8, 4];
    const result = clusterJackknife(4, meanOver(values));
    if (result.value === null) throw new Error(result.reason);
    const error = Math.sqrt((4 + 0 + 9 + 1) / 3 / 4);
    expect(result.value).toBe(5);
    // 97.5th percentile of t with 3 df 3.1824463 (tables)
    expect(result.interval![1]).toBeCloseTo(5 + 3.1824463 * error, 6);
    expect(clusterJackknife(1, meanOver([1]))).toMatchObject({ value: 1, interval: null });
    expect(clusterJackknife(3, meanOver([2, 2, 2]))).toMatchObject({ value: 2, interval: null });
  });

  test('says why it has no interval', () => {
    expect(clusterRatio([], [])).toMatchObject({ value: null });
    expect(clusterRatio([3, 0], [3, 0])).toMatchObject({ value: 1, interval: null });
    expect(clusterRatio([3, 5], [3, 5])).toMatchObject({ value: 1, interval: null });
    expect(clusterRatio([1, 2], [2, 4])).toMatchObject({ value: 0.5, interval: null });
  });
});

// source: definition; 100,000 draws: mean of a uniform 0.5 +- 0.003, normal mean 0 and SD 1
test('seeded numbers are uniform and normal', () => {
  const random = randomFromNumber(2024);
  let uniform = 0;
  let normal = 0;
  let squares = 0;
  const counts = new Int32Array(10);
  for (let i = 0; i < 100_000; i++) {
    const u = random.uniform();
    uniform += u;
    counts[Math.floor(u * 10)]!++;
    const z = random.normal();
    normal += z;
    squares += z * z;
  }
  expect(uniform / 1e5).toBeCloseTo(0.5, 2);
  expect(normal / 1e5).toBeCloseTo(0, 1);
  expect(squares / 1e5).toBeCloseTo(1, 1);
  // chi-square with 9 df: 27.9 is its 99.9th percentile
  expect(counts.reduce((sum, c) => sum + (c - 1e4) ** 2 / 1e4, 0)).toBeLessThan(27.9);
});

// source: definition; the same stream drawn one by one, and what comes after it
test('whole numbers counted at once are those drawn one by one', () => {
  const [one, other] = [randomFromNumber(7), randomFromNumber(7)];
  const counts = new Uint16Array(8);
  one.tally(5, 1000, counts, 2);
  const expected = new Uint16Array(8);
  for (let i = 0; i < 1000; i++) expected[2 + other.integer(5)]!++;
  expect(counts).toEqual(expected);
  expect(one.uint32()).toBe(other.uint32());
});
