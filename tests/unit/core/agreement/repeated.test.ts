import { describe, expect, test } from 'vitest';
import { blandAltmanRepeated } from '../../../../src/core/agreement/bland-altman';
import { linConcordance } from '../../../../src/core/agreement/concordance';
import { equivalence } from '../../../../src/core/agreement/equivalence';
import { meanAbsoluteError, meanAbsolutePercentageError } from '../../../../src/core/agreement/error';
import { intraclassCorrelations } from '../../../../src/core/agreement/icc';
import { regressionLimits } from '../../../../src/core/agreement/regression-limits';
import { repeatedConcordance } from '../../../../src/core/agreement/repeated-concordance';
import reference from '../../../reference/agreement/repeated.json';

const participants = reference.x.map((x, i) => ({ x, y: reference.y[i]!.map(v => v ?? Number.NaN) }));

// source: base R, lm, cov and t.test on the same table (tests/reference/agreement/repeated.R)
describe('agreement over repeated pairs against R', () => {
  test('limits by regression', () => {
    const pairs = participants.flatMap(({ x, y }) => x.flatMap((v, k) => (Number.isNaN(y[k]) ? [] : [[v, y[k]!]])));
    const found = regressionLimits(
      pairs.map(p => p[0]!),
      pairs.map(p => p[1]!),
    );
    if (found.value === null) throw new Error(found.reason);
    expect(found.n).toBe(19);
    expect(found.biasAtZero).toBeCloseTo(reference.bias[0]!, 9);
    expect(found.slope).toBeCloseTo(reference.bias[1]!, 11);
    expect(found.halfWidthAtZero).toBeCloseTo(reference.halfWidth[0]!, 9);
    expect(found.halfWidthSlope).toBeCloseTo(reference.halfWidth[1]!, 11);
  });

  test('concordance for repeated measures', () => {
    expect(repeatedConcordance(participants).value).toBeCloseTo(reference.concordance, 12);
    expect(repeatedConcordance(participants).value).toBeLessThan(1);
    const same = participants.map(({ x }) => ({ x, y: x }));
    expect(repeatedConcordance(same)).toMatchObject({ value: expect.closeTo(1, 12), n: 5 });
  });

  test('two one-sided tests', () => {
    const means = participants.map(({ x, y }) => {
      const d = x.map((v, k) => v - y[k]!).filter(Number.isFinite);
      return d.reduce((a, b) => a + b, 0) / d.length;
    });
    const found = equivalence(means, reference.margin);
    if (found.value === null) throw new Error(found.reason);
    expect(found.interval90[0]).toBeCloseTo(reference.interval90[0]!, 10);
    expect(found.interval90[1]).toBeCloseTo(reference.interval90[1]!, 10);
    expect(found.p).toBeCloseTo(reference.p, 10);
    expect(found.equivalent).toBe(reference.p < 0.05);
    // source: definition; equivalent exactly when the 90 % interval lies inside the margin
    const reach = Math.max(-found.interval90[0], found.interval90[1]);
    expect(equivalence(means, reach * 1.001)).toMatchObject({ equivalent: true });
    expect(equivalence(means, reach * 0.999)).toMatchObject({ equivalent: false });
  });
});

describe('what cannot be computed has its reason, never a number', () => {
  const bad = [1, 2, Number.NaN, 4];
  const good = [1, 2, 3, 5];

  test('a value that is none', () => {
    const reason = 'a value is not a number';
    expect(linConcordance(bad, good)).toEqual({ value: null, reason });
    expect(linConcordance(good, [1, Number.POSITIVE_INFINITY, 3, 4])).toEqual({ value: null, reason });
    expect(meanAbsoluteError(bad, good)).toEqual({ value: null, reason });
    expect(meanAbsolutePercentageError(good, bad)).toEqual({ value: null, reason });
    expect(blandAltmanRepeated([bad, good, good])).toEqual({ value: null, reason });
    expect(blandAltmanRepeated([[1], [Number.NaN], [2]])).toEqual({ value: null, reason });
    expect(regressionLimits(bad, good)).toEqual({ value: null, reason });
    const icc = intraclassCorrelations(bad.map((v, i) => [v, good[i]!]));
    for (const form of Object.values(icc)) expect(form).toEqual({ value: null, reason });
  });

  test('columns without variance between rows', () => {
    const icc = intraclassCorrelations([
      [0.1, 0.7],
      [0.1, 0.7],
      [0.1, 0.7],
    ]);
    for (const form of Object.values(icc)) expect(form).toEqual({ value: null, reason: 'the targets do not differ' });
  });

  test('constants', () => {
    const reason = 'one side does not vary, so nothing can go together';
    expect(linConcordance([2, 2, 2], [1, 5, 9])).toEqual({ value: null, reason });
    expect(linConcordance([2, 2, 2], [3, 3, 3])).toEqual({ value: null, reason });
    expect(regressionLimits([2, 2, 2], [2, 2, 2])).toMatchObject({ value: null });
    expect(repeatedConcordance([])).toMatchObject({ value: null });
    expect(repeatedConcordance(Array.from({ length: 3 }, () => ({ x: [5], y: [5] })))).toMatchObject({ value: null });
    expect(equivalence([1, 1, 1], 2)).toMatchObject({ value: null });
    expect(equivalence([1, 2], null)).toEqual({ value: null, reason: 'the study names no margin' });
    expect(equivalence([1], 2)).toMatchObject({ value: null });
  });
});
