import { describe, expect, test } from 'vitest';
import { tQuantile } from '../../../../src/core/score/distributions';
import { effectiveSizeDifference, effectiveSizeRatio, exactInterval } from '../../../../src/core/score/effective-size';
import type { Estimate, Interval } from '../../../../src/core/score/result';
import reference from '../../../reference/bootstrap/effective-size.json';
import { robustLogit } from '../../../reference/bootstrap/robust-logit';

function intervalOf(e: Estimate): Interval {
  if (e.value === null || !e.interval) throw new Error('no interval');
  return e.interval;
}

function near(found: Interval, expected: readonly number[], places: number) {
  expect(found[0]).toBeCloseTo(expected[0]!, places);
  expect(found[1]).toBeCloseTo(expected[1]!, places);
}

const { right, few, total } = reference;

describe('exact interval', () => {
  // source: Newcombe, Stat Med 1998;17:857, table I, method 5 (Clopper & Pearson); values by R 4.2, binom.test
  test.each([
    [81, 263, 0.2527, 0.3676],
    [15, 148, 0.0578, 0.1617],
    [0, 20, 0, 0.1684],
    [1, 29, 0.0009, 0.1776],
  ])('%i of %i', (x, n, low, high) => near(exactInterval(x, n), [low, high], 4));

  test('takes parts of a whole and refuses what is no proportion', () => {
    expect(exactInterval(2.5, 2.5)[1]).toBe(1);
    expect(exactInterval(0, 2.5)[0]).toBe(0);
    for (const [x, n] of [
      [3, 2],
      [-1, 2],
      [0, 0],
      [Number.NaN, 3],
    ] as const)
      expect(() => exactInterval(x, n)).toThrow(RangeError);
  });
});

describe('pooled proportion at its effective sample size', () => {
  // source: R package survey, svyciprop(method = "beta"), tests/reference/bootstrap/effective-size.R
  test('without a least correlation is Korn and Graubard’s', () => {
    near(intervalOf(effectiveSizeRatio(right, total, 0.95, 0)), reference.kornGraubard, 11);
    near(intervalOf(effectiveSizeRatio(few, total, 0.95, 0)), reference.kornGraubardFew, 11);
  });

  // source: the same script, from the definition
  test('reckons with volunteers that are less alike than those at hand', () => {
    near(intervalOf(effectiveSizeRatio(few, total)), reference.floored, 11);
    const none = effectiveSizeRatio(total, total);
    near(intervalOf(none), reference.flooredNone, 11);
    expect(none).toMatchObject({ value: 1, n: 8 });
    expect(intervalOf(none)[1]).toBe(1);
    expect(intervalOf(none)[0]).toBeLessThan(0.98);
  });

  test('passes over volunteers without an interval and says why there is none', () => {
    expect(effectiveSizeRatio([...right, 0], [...total, 0])).toEqual(effectiveSizeRatio(right, total));
    expect(effectiveSizeRatio([], [])).toEqual({ value: null, reason: 'no interval to judge' });
    expect(effectiveSizeRatio([0], [0])).toEqual({ value: null, reason: 'no interval to judge' });
    expect(effectiveSizeRatio([9], [10])).toMatchObject({
      value: 0.9,
      interval: null,
      intervalReason: 'needs two participants',
    });
  });
});

describe('paired difference at the effective sample sizes', () => {
  // source: the same script, MOVER from its definition
  test('is MOVER with the correlation of the volunteers', () => {
    const of = (parts: number[]) => ({ parts, wholes: reference.same });
    const found = effectiveSizeDifference(of(reference.first), of(reference.second));
    near(intervalOf(found), reference.difference, 10);
    expect(found.value).toBeCloseTo((2283 - 2228) / 2400, 12);
  });

  test('has a width without any mistake, stays within its range, and says why there is none', () => {
    const perfect = { parts: [5, 5], wholes: [5, 5] };
    const [low, high] = intervalOf(effectiveSizeDifference(perfect, perfect));
    expect(low).toBeLessThan(0);
    expect(high).toBeCloseTo(-low, 12);
    const [least] = intervalOf(effectiveSizeDifference({ parts: [0, 0], wholes: [5, 5] }, perfect));
    expect(least).toBeGreaterThanOrEqual(-1);
    expect(effectiveSizeDifference({ parts: [], wholes: [] }, { parts: [], wholes: [] })).toMatchObject({
      value: null,
    });
    const one = { parts: [4], wholes: [5] };
    expect(effectiveSizeDifference(one, one)).toMatchObject({ value: 0, interval: null });
  });
});

describe('robust logit, tried against it', () => {
  // source: R package clubSandwich, vcovCR type CR2 with Satterthwaite df of a quasibinomial glm; its standard error there
  // is worked out at a fit stopped at 1e-8, hence five digits
  test('of Bell and McCaffrey', () => {
    const [centre, error, df] = reference.logitEstimateErrorDf as [number, number, number];
    const half = tQuantile(0.975, df) * error;
    const found = robustLogit(Float64Array.from(right), Float64Array.from(total), 'bell-mccaffrey')!;
    near(found, [1 / (1 + Math.exp(half - centre)), 1 / (1 + Math.exp(-half - centre))], 5);
    // Fewer degrees of freedom where one volunteer has most of the mistakes
    const [low, high] = robustLogit(Float64Array.from(few), Float64Array.from(total), 'satterthwaite')!;
    const plain = robustLogit(Float64Array.from(few), Float64Array.from(total), 'bell-mccaffrey')!;
    expect(high - low).toBeGreaterThan(plain[1] - plain[0]);
    expect(robustLogit(Float64Array.of(5, 5), Float64Array.of(5, 5), 'satterthwaite')).toBeNull();
  });
});
