import { describe, expect, test } from 'vitest';
import {
  effectiveDegrees,
  excessKurtosis,
  upperLimitFarFromNormal,
  upperLimitOfPilot,
  upperLimitOfSpread,
} from '../../../../../src/core/report/plans/spread-limits';

/** The data of the worked example of Bonett, Comput Stat Data Anal 2006;50:775. */
const example = [15.83, 16.01, 16.24, 16.42, 15.33, 15.44, 16.88, 16.31];

// source: tables of chi-squared, lower 20 % point at 3 and 7 degrees of freedom: 1.005 and 3.822
test('for values that are roughly normal', () => {
  expect(upperLimitOfSpread(4, 0.8)).toBeCloseTo(Math.sqrt(3 / 1.0052), 3);
  expect(upperLimitOfSpread(8, 0.8)).toBeCloseTo(Math.sqrt(7 / 3.8223), 3);
});

describe('for values of any distribution', () => {
  // source: the paper's upper limits of its example, as the help of VarCI in R's DescTools quotes them: standard deviation
  // 0.5168, two-sided limits at 90, 95 and 99 %, which are one-sided ones at 95, 97.5 and 99.5 %
  test.each([
    [0.95, 0.9359],
    [0.975, 1.0841],
    [0.995, 1.5109],
  ])("the paper's example at %f", (confidence, limit) => {
    expect(0.5168 * upperLimitFarFromNormal(example, confidence)).toBeCloseTo(limit, 3);
  });

  // source: definition, worked out by hand: of -1, -1, 1, 1 the kurtosis is 1 about the median 0, so that the error is
  // c sqrt((1 - 1/4) / 3) = c / 2 with c = 4 / (4 - 1.644854)
  test('four values, and what moves or stretches with them', () => {
    const c = 4 / (4 - 1.644854);
    expect(upperLimitFarFromNormal([-1, -1, 1, 1], 0.95)).toBeCloseTo(Math.sqrt(c * Math.exp((1.644854 * c) / 2)), 5);
    const skewed = [...Array.from({ length: 19 }, (_, i) => i / 1000), 1];
    const even = Array.from({ length: 20 }, (_, i) => i);
    expect(upperLimitFarFromNormal(skewed, 0.95)).toBeGreaterThan(1.5 * upperLimitFarFromNormal(even, 0.95));
    const moved = skewed.map(v => 7 - 3 * v);
    expect(upperLimitFarFromNormal(moved, 0.95)).toBeCloseTo(upperLimitFarFromNormal(skewed, 0.95), 9);
    expect(upperLimitFarFromNormal([0, 1, 2], 0.999)).toBe(Number.POSITIVE_INFINITY);
  });
});

describe('with degrees of freedom by the kurtosis', () => {
  // source: SciPy 1.17.1, scipy.stats.kurtosis(x, bias=False), of the example and of 1, 2, 3, 4, 10
  test('the kurtosis of a sample', () => {
    expect(excessKurtosis(example)).toBeCloseTo(-0.5342281500172401, 10);
    expect(excessKurtosis([1, 2, 3, 4, 10])).toBeCloseTo(3.152000000000001, 10);
    expect(excessKurtosis([1, 2, 9])).toBe(0);
  });

  // source: definition; the variance of s2 of five throws of a coin with 1 in 5 heads, added up over all 32 outcomes
  test('a variate with these degrees varies as the variance does', () => {
    const [n, p] = [5, 0.2];
    const choose = [1, 5, 10, 10, 5, 1];
    let [first, second] = [0, 0];
    for (let heads = 0; heads <= n; heads++) {
      const s2 = (heads * (1 - heads / n) ** 2 + (n - heads) * (heads / n) ** 2) / (n - 1);
      const chance = choose[heads]! * p ** heads * (1 - p) ** (n - heads);
      first += chance * s2;
      second += chance * s2 * s2;
    }
    const excess = (1 - 6 * p * (1 - p)) / (p * (1 - p));
    expect((second - first ** 2) / first ** 2).toBeCloseTo(2 / effectiveDegrees(n, excess), 12);
    expect(effectiveDegrees(24, 0)).toBe(23);
  });

  test('the larger limit is taken, never below that for normal values', () => {
    for (const values of [example, [0, 0, 0, 0, 0, 0, 0, 1], [1, 2, 3, 4, 5, 6]]) {
      const limit = upperLimitOfPilot(values, 0.95);
      expect(limit).toBeGreaterThanOrEqual(upperLimitOfSpread(values.length, 0.95));
      expect(limit).toBeGreaterThanOrEqual(upperLimitFarFromNormal(values, 0.95));
    }
  });
});
