import { describe, expect, test } from 'vitest';
import { mean, median, sortedQuantile, standardDeviation, variance } from '../../../../src/core/moments';
import { randomFromNumber } from '../../../../src/core/random';
import { clusterBootstrap, pooledRatio } from '../../../../src/core/score/bootstrap';
import { chiSquareQuantile } from '../../../../src/core/score/chi-square';
import { fCdf, normalCdf } from '../../../../src/core/score/distributions';
import { logGamma, regularizedBeta } from '../../../../src/core/score/incomplete-beta';

describe('outside its domain a function throws', () => {
  test.each<[string, () => unknown]>([
    ['mean of nothing', () => mean([])],
    ['median of nothing', () => median([])],
    ['variance of one value', () => variance([3])],
    ['standard deviation of one value', () => standardDeviation([3])],
    ['a quantile above 1', () => sortedQuantile([1, 2], 1.01)],
    ['a quantile below 0', () => sortedQuantile([1, 2], -0.01)],
    ['log gamma of 0', () => logGamma(0)],
    ['beta beyond 1', () => regularizedBeta(1.1, 2, 2)],
    ['beta below 0', () => regularizedBeta(-0.1, 2, 2)],
    ['beta without a shape', () => regularizedBeta(0.5, 0, 2)],
    ['beta without the other shape', () => regularizedBeta(0.5, 2, 0)],
    ['the normal distribution of no number', () => normalCdf(Number.NaN)],
    ['chi-square without degrees of freedom', () => chiSquareQuantile(0.5, 0)],
    ['a seed that is not whole', () => randomFromNumber(1.5)],
  ])('%s', (_name, call) => {
    expect(call).toThrow(RangeError);
  });
});

describe('at the edge of its domain', () => {
  // source: definitions
  test('a distribution function is 0 or 1', () => {
    expect([normalCdf(-60), normalCdf(60), fCdf(0, 3, 4), fCdf(-1, 3, 4)]).toEqual([0, 1, 0, 0]);
    expect([regularizedBeta(0, 2, 3), regularizedBeta(1, 2, 3)]).toEqual([0, 1]);
  });

  // source: Gamma(1/2) = sqrt(pi), Gamma(1/4) = 3.6256099082 (Abramowitz & Stegun, table 6.1)
  test('log gamma below a half', () => {
    expect(logGamma(0.5)).toBeCloseTo(Math.log(Math.sqrt(Math.PI)), 12);
    expect(logGamma(0.25)).toBeCloseTo(Math.log(3.6256099082), 9);
  });

  // source: by hand, type 7 of Hyndman & Fan 1996
  test('quantiles between order statistics', () => {
    expect([0, 0.25, 0.5, 0.9, 1].map(p => sortedQuantile([1, 2, 4], p))).toEqual([1, 1.5, 2, 3.6, 4]);
    expect([sortedQuantile([5], 0.3), median([4, 1, 3, 2])]).toEqual([5, 2.5]);
    expect(variance([1, 2, 4])).toBeCloseTo(7 / 3, 14);
  });
});

describe('a bootstrap that cannot say how wide', () => {
  const settings = { draws: 200, level: 0.95, seed: 5 };

  test('says that most resamples have no value', () => {
    // A quarter of the draws of six have five of them or more.
    const ofMost = (times: Int32Array) =>
      times.filter(n => n > 0).length >= 5 ? times.reduce((sum, n, i) => sum + n * i, 0) : Number.NaN;
    const result = clusterBootstrap(6, ofMost, settings);
    expect(result).toMatchObject({
      value: 15,
      n: 6,
      percentile: null,
      bca: null,
      intervalReason: 'most resamples have no value',
    });
    expect((result as { undefinedDraws: number }).undefinedDraws).toBeGreaterThan(100);
  });

  test('refuses too few draws and a level that is none', () => {
    const ratio = pooledRatio([1, 2], [2, 3]);
    for (const wrong of [{ draws: 99 }, { level: 0 }, { level: 1 }]) {
      expect(() => clusterBootstrap(2, ratio, { ...settings, ...wrong })).toThrow(RangeError);
    }
    expect(clusterBootstrap(0, ratio, settings)).toEqual({ value: null, reason: 'no participant' });
    expect(clusterBootstrap(1, ratio, settings)).toMatchObject({
      value: 0.5,
      intervalReason: 'needs two participants',
    });
  });
});
