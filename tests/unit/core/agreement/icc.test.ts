import { describe, expect, test } from 'vitest';
import { type IccForm, intraclassCorrelations, pairedIntraclassCorrelations } from '../../../../src/core/agreement/icc';
import { iccExample } from '../../../../src/core/known-answers/statistics';
import reference from '../../../reference/agreement/agreement.json';

const shroutFleiss = iccExample.table;

describe('intraclass correlations', () => {
  // source: Shrout & Fleiss, Psychol Bull 1979;86:420, tables 2 and 4 (two decimals)
  test.each(Object.entries(iccExample.values))('ICC(%s) of the 6 x 4 table', (form, value) => {
    expect(intraclassCorrelations(shroutFleiss)[form as IccForm].value).toBeCloseTo(value, 2);
  });

  // source: from memory, the 95 % intervals general-purpose statistics packages print for the same table
  test.each([
    ['1,1', -0.133, 0.723],
    ['2,1', 0.019, 0.761],
    ['3,1', 0.342, 0.946],
    ['2,k', 0.071, 0.927],
    ['3,k', 0.676, 0.986],
  ] as const)('interval of ICC(%s)', (form, low, high) => {
    const estimate = intraclassCorrelations(shroutFleiss)[form];
    if (estimate.value === null) throw new Error(estimate.reason);
    expect(estimate.interval![0]).toBeCloseTo(low, 2);
    expect(estimate.interval![1]).toBeCloseTo(high, 2);
  });

  // source: NumPy least squares and SciPy F quantiles (tests/reference/agreement)
  test.each(reference.icc)('mean squares by least squares', ({ table, values, intervals }) => {
    const result = intraclassCorrelations(table);
    for (const [form, value] of Object.entries(values)) expect(result[form as IccForm].value).toBeCloseTo(value, 9);
    for (const [form, [low, high]] of Object.entries(intervals)) {
      const estimate = result[form as IccForm];
      if (estimate.value === null) throw new Error(estimate.reason);
      expect(estimate.interval![0]).toBeCloseTo(low!, 8);
      expect(estimate.interval![1]).toBeCloseTo(high!, 8);
    }
  });

  test('says why it cannot be computed', () => {
    expect(intraclassCorrelations([[1, 2]])['2,1']).toMatchObject({ value: null });
    expect(
      intraclassCorrelations([
        [3, 3],
        [3, 3],
      ])['3,1'],
    ).toMatchObject({ value: null });
    expect(() => intraclassCorrelations([[1, 2], [3]])).toThrow(RangeError);
    const noResidual = intraclassCorrelations([
      [1, 2],
      [2, 3],
      [4, 5],
    ])['3,1'];
    expect(noResidual).toMatchObject({ value: 1, interval: null });
  });
});

// source: the table of the same ratings, which has tests of its own above
describe('two judges as two lists', () => {
  test.each([
    ['apart', [900.5, 812, 640.25, 701, 655], [903, 815.5, 640, 699, 661]],
    ['alike', [3, 4, 5], [3, 4, 5]],
    ['one value', [3, 3], [3, 3]],
    ['targets that do not differ', [1, 2], [2, 1]],
    ['one target', [1], [2]],
    ['no number', [1, Number.NaN, 2], [1, 2, 3]],
  ])('%s', (_, a, b) => {
    const paired = pairedIntraclassCorrelations(Float64Array.from(a), Float64Array.from(b), 0.9);
    const table = intraclassCorrelations(
      a.map((v, i) => [v, b[i]!]),
      0.9,
    );
    for (const form of Object.keys(table) as IccForm[]) {
      const [one, other] = [paired[form], table[form]];
      if (other.value === null || one.value === null) expect(one).toEqual(other);
      else {
        expect(one.value).toBeCloseTo(other.value, 12);
        expect(one.interval?.map(v => v.toFixed(9))).toEqual(other.interval?.map(v => v.toFixed(9)));
      }
    }
  });

  test('of different length are refused', () => {
    expect(() => pairedIntraclassCorrelations(Float64Array.of(1, 2), Float64Array.of(1))).toThrow(RangeError);
  });
});

// source: 100 volunteers with five activities of five minutes have as many RR intervals
test('a table of 300,000 targets has its correlations', () => {
  const ratings = Array.from({ length: 300_000 }, (_, i) => [i % 500, (i % 500) + (i % 2)]);
  expect(intraclassCorrelations(ratings)['3,1'].value).toBeGreaterThan(0.99);
});
