import { describe, expect, test } from 'vitest';
import { cohenKappa, ratingTable } from '../../../../src/core/agreement/kappa';
import { kappaExample } from '../../../../src/core/known-answers/statistics';
import reference from '../../../reference/agreement/agreement.json';

const computed = (table: readonly (readonly number[])[]) => {
  const kappa = cohenKappa(table);
  if (kappa.value === null) throw new Error(kappa.reason);
  return kappa;
};

describe('Cohen kappa', () => {
  // source: scikit-learn cohen_kappa_score; standard error by a numerical delta method (tests/reference/agreement)
  test.each(reference.kappa)('table $table', ({ table, kappa, standardError }) => {
    const result = computed(table);
    expect(result.value).toBeCloseTo(kappa, 12);
    expect(result.standardError).toBeCloseTo(standardError, 7);
    expect(result.n).toBe(table.flat().reduce((a, b) => a + b, 0));
  });

  // source: Cohen, Educ Psychol Meas 1960;20:37, definition: 35 of 50 agree, 25 expected by chance
  test('two by two by hand', () => {
    const result = computed(kappaExample.table);
    expect(result.value).toBeCloseTo(kappaExample.kappa, 14);
    expect(result.observedAgreement).toBeCloseTo(kappaExample.observedAgreement, 14);
    expect(result.chanceAgreement).toBeCloseTo(kappaExample.chanceAgreement, 14);
  });

  // source: normal interval of the definition, 1.959964 standard errors each side
  test('interval', () => {
    const { value, interval, standardError } = computed([
      [45, 15],
      [25, 15],
    ]);
    expect(interval![0]).toBeCloseTo(value - 1.959963984540054 * standardError, 12);
    expect(interval![1]).toBeCloseTo(value + 1.959963984540054 * standardError, 12);
  });

  test('perfect agreement is 1 with no interval', () => {
    const result = computed([
      [8, 0],
      [0, 3],
    ]);
    expect(result.value).toBe(1);
    expect(result.interval).toBeNull();
  });

  test('says why it cannot be computed', () => {
    expect(
      cohenKappa([
        [0, 0],
        [0, 0],
      ]),
    ).toMatchObject({ value: null, reason: expect.stringContaining('nothing') });
    expect(
      cohenKappa([
        [9, 0],
        [0, 0],
      ]),
    ).toMatchObject({ value: null, reason: expect.stringContaining('chance') });
    expect(() => cohenKappa([[1, 2]])).toThrow(RangeError);
    expect(() =>
      cohenKappa([
        [1, 0.5],
        [2, 3],
      ]),
    ).toThrow(RangeError);
  });

  test('tabulates verdicts', () => {
    const table = ratingTable(['kept', 'kept', 'moved'], ['kept', 'moved', 'moved'], ['kept', 'moved']);
    expect(table).toEqual([
      [1, 1],
      [0, 1],
    ]);
    expect(() => ratingTable(['kept'], ['lost'], ['kept'])).toThrow(RangeError);
  });
});
