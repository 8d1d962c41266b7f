import { describe, expect, test } from 'vitest';
import { mutualPairs, robustLine } from '../../../../src/core/agreement/clock-line';
import { linConcordance } from '../../../../src/core/agreement/concordance';
import { intraclassCorrelations } from '../../../../src/core/agreement/icc';
import { ratingTable } from '../../../../src/core/agreement/kappa';

const times = (...values: number[]) => Float64Array.from(values);
const same = { offset: 0, drift: 0 };

describe('pairs of beats under a line', () => {
  test('two beats that want the same one: the nearer gets it, whichever comes first', () => {
    expect(mutualPairs(times(1, 1.02), times(1.019), same, 0.05)).toEqual({ a: Int32Array.of(1), b: Int32Array.of(0) });
    expect(mutualPairs(times(1, 1.02), times(1.001), same, 0.05)).toEqual({ a: Int32Array.of(0), b: Int32Array.of(0) });
  });

  test('beats further apart than the tolerance have no partner, nor has any without beats', () => {
    expect(mutualPairs(times(1, 2), times(1.06, 2.01), same, 0.05)).toEqual({
      a: Int32Array.of(1),
      b: Int32Array.of(1),
    });
    expect(mutualPairs(times(1), times(), same, 0.05).a).toHaveLength(0);
  });

  test('beats of one moment give an offset and no drift', () => {
    const pairs = { a: Int32Array.of(0), b: Int32Array.of(0) };
    expect(robustLine(times(7), times(7.25), pairs, same)).toEqual({ offset: 0.25, drift: 0 });
  });
});

describe('agreement without a value', () => {
  test('targets that do not differ: judges disagree, and averaging has nothing to tell apart', () => {
    const found = intraclassCorrelations([
      [1, 2],
      [2, 1],
    ]);
    for (const form of ['1,k', '2,k', '3,k'] as const) {
      expect(found[form]).toEqual({ value: null, reason: 'the targets do not differ' });
    }
  });

  test('lists of different lengths are refused', () => {
    expect(() => linConcordance([1, 2, 3], [1, 2])).toThrow('3 values against 2');
    expect(() => ratingTable(['kept'], [], ['kept'])).toThrow('verdicts of 1 things against 0');
  });
});
