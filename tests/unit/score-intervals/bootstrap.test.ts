import { describe, expect, test } from 'vitest';
import {
  type BootstrapResult,
  clusterBootstrap,
  defaultBootstrapSettings,
  meanOver,
  pairedDifference,
  pooledRatio,
  sdOver,
} from '../../../src/core/score/bootstrap';
import { clusterRatio } from '../../../src/core/score/cluster-ratio';
import { Seeded } from '../../../src/core/score/seeded';
import reference from '../../reference/bootstrap/bootstrap.json';
import coverage from '../../reference/bootstrap/coverage.json';
import { simulateCoverage } from '../../reference/bootstrap/simulate-coverage';

const settings = { draws: 40_000, seed: 7, level: 0.95 };
const { right, total } = reference;

function computed(result: BootstrapResult) {
  if (result.value === null) throw new Error(result.reason);
  return result;
}

describe('cluster bootstrap', () => {
  // source: SciPy 1.10, scipy.stats.bootstrap with 200,000 resamples; agreement to resampling error
  test.each([
    ['pooled ratio', pooledRatio(right, total), reference.ratio],
    ['mean of shares', meanOver(right.map((r, i) => r / total[i]!)), reference.mean],
  ] as const)('%s', (_name, statistic, expected) => {
    const result = computed(clusterBootstrap(right.length, statistic, settings));
    for (const side of [0, 1] as const) {
      expect(Math.abs(result.percentile![side] - expected.percentile[side]!)).toBeLessThan(0.001);
      expect(Math.abs(result.bca![side] - expected.BCa[side]!)).toBeLessThan(0.002);
    }
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
    expect(meanOver([1, Number.NaN, 3])(Int32Array.of(0, 1, 2))).toBe(2);
    expect(sdOver([1, Number.NaN, 3])(Int32Array.of(0, 1, 2))).toBeCloseTo(Math.SQRT2, 14);
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
});

describe('pooled proportion with clustered variance', () => {
  // source: definition; without clustering (one interval each) the variance is p q / (n - 1), logit interval by hand
  test('one interval a participant', () => {
    const parts = Array.from({ length: 40 }, (_, i) => (i < 30 ? 1 : 0));
    const result = clusterRatio(
      parts,
      parts.map(() => 1),
    );
    if (result.value === null) throw new Error(result.reason);
    const half = 2.0226909 * (Math.sqrt((0.75 * 0.25) / 39) / (0.75 * 0.25));
    const logit = (p: number) => Math.log(p / (1 - p));
    expect(result.value).toBe(0.75);
    expect(logit(result.interval![0])).toBeCloseTo(Math.log(3) - half, 6);
    expect(logit(result.interval![1])).toBeCloseTo(Math.log(3) + half, 6);
  });

  test('says why it has no interval', () => {
    expect(clusterRatio([], [])).toMatchObject({ value: null });
    expect(clusterRatio([3, 0], [3, 0])).toMatchObject({ value: 1, interval: null });
    expect(clusterRatio([3, 5], [3, 5])).toMatchObject({ value: 1, interval: null });
    expect(clusterRatio([1, 2], [2, 4])).toMatchObject({ value: 0.5, interval: null });
  });
});

describe('coverage of the 95 % intervals in simulated studies', () => {
  // source: definition of a 95 % interval; stored run of 2000 studies a case (tests/reference/bootstrap/coverage.ts).
  // Bootstrap intervals are known to be too short for few participants (Hesterberg, Am Stat 2015;69:371).
  test('stored run', () => {
    expect(coverage.cases.length).toBe(5);
    for (const { volunteers, meanQuality, covered } of coverage.cases) {
      expect(covered.clusterRatio).toBeGreaterThan(meanQuality > 0.98 ? 0.91 : 0.93);
      expect(covered.clusterRatio).toBeLessThan(0.97);
      expect(covered.expandedBca).toBeGreaterThan(covered.bca);
      if (volunteers >= 40) expect(covered.bca).toBeGreaterThan(0.93);
    }
  });

  test('a smaller seeded run', () => {
    const many = simulateCoverage({ volunteers: 40, meanQuality: 0.9, spread: 20, studies: 300, draws: 200, seed: 2 });
    expect(many.percentile).toBeGreaterThan(0.9);
    expect(many.bca).toBeGreaterThan(0.9);
    const few = simulateCoverage({ volunteers: 8, meanQuality: 0.9, spread: 20, studies: 400, draws: 100, seed: 3 });
    expect(few.clusterRatio).toBeGreaterThan(0.92);
    expect(few.clusterRatio).toBeLessThan(0.98);
  });
});

// source: definition; 100,000 draws: mean of a uniform 0.5 +- 0.003, normal mean 0 and SD 1
test('seeded numbers are uniform and normal', () => {
  const random = new Seeded(2024);
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
