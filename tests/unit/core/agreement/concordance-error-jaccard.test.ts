import { describe, expect, test } from 'vitest';
import { linConcordance } from '../../../../src/core/agreement/concordance';
import { meanAbsoluteError, meanAbsolutePercentageError } from '../../../../src/core/agreement/error';
import { spanJaccard } from '../../../../src/core/agreement/jaccard';
import { span } from '../../../../src/core/units';
import reference from '../../../reference/agreement/agreement.json';

describe('Lin concordance', () => {
  // source: Lin, Biometrics 1989;45:255, definition; variance by a numerical delta method (tests/reference/agreement)
  test.each(reference.concordance)('value $ccc', ({ x, y, ccc, interval }) => {
    const result = linConcordance(x, y);
    if (result.value === null) throw new Error(result.reason);
    expect(result.value).toBeCloseTo(ccc, 12);
    expect(result.interval![0]).toBeCloseTo(interval[0]!, 6);
    expect(result.interval![1]).toBeCloseTo(interval[1]!, 6);
  });

  // source: definition; y = x + c gives 2 var / (2 var + c^2), here 2 x 2 / (4 + 9)
  test('a shift lowers it though the correlation is 1', () => {
    expect(linConcordance([1, 2, 3, 4, 5], [4, 5, 6, 7, 8]).value).toBeCloseTo(4 / 13, 14);
  });

  test('says why it cannot be computed', () => {
    expect(linConcordance([1, 2], [1, 2])).toMatchObject({ value: null });
    expect(linConcordance([2, 2, 2], [2, 2, 2])).toMatchObject({ value: null, reason: 'all values are the same' });
    expect(linConcordance([1, 2, 3], [1, 2, 3])).toMatchObject({ value: 1, interval: null });
    expect(linConcordance([2, 2, 2], [1, 2, 3])).toMatchObject({
      value: null,
      reason: expect.stringContaining('vary'),
    });
  });
});

describe('mean absolute errors', () => {
  // source: scikit-learn mean_absolute_error, mean_absolute_percentage_error (tests/reference/agreement)
  test.each(reference.concordance)('MAE $mae', ({ x, y, mae, mape }) => {
    expect(meanAbsoluteError(y, x).value).toBeCloseTo(mae, 11);
    expect(meanAbsolutePercentageError(y, x).value).toBeCloseTo(mape, 11);
  });

  test('says why it cannot be computed', () => {
    expect(meanAbsoluteError([], [])).toMatchObject({ value: null });
    expect(meanAbsolutePercentageError([1], [0])).toMatchObject({ value: null, reason: expect.stringContaining('0') });
    expect(() => meanAbsoluteError([1], [])).toThrow(RangeError);
  });
});

describe('Jaccard index of spans', () => {
  // source: definition; 10 shared samples of 30 + 5 marked by either
  test('overlap over union', () => {
    expect(spanJaccard([span(0, 20)], [span(10, 30), span(100, 105)])).toEqual({ value: 10 / 35, n: 35 });
    expect(spanJaccard([span(0, 20)], [span(20, 30)])).toEqual({ value: 0, n: 30 });
    expect(spanJaccard([span(0, 9), span(5, 20)], [span(0, 20)])).toEqual({ value: 1, n: 20 });
  });

  test('says why it cannot be computed', () => {
    expect(spanJaccard([], [])).toMatchObject({ value: null, reason: 'neither rater marked a span' });
  });
});
