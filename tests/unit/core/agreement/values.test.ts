import { describe, expect, test } from 'vitest';
import { type BlandAltman, blandAltman, blandAltmanRepeated } from '../../../../src/core/agreement/bland-altman';
import { linConcordance } from '../../../../src/core/agreement/concordance';
import { meanAbsoluteError, meanAbsolutePercentageError } from '../../../../src/core/agreement/error';
import { type IccForm, intraclassCorrelations } from '../../../../src/core/agreement/icc';
import { cohenKappa, type Kappa, ratingTable } from '../../../../src/core/agreement/kappa';

function limits(result: BlandAltman) {
  if (result.value === null) throw new Error(result.reason);
  return result;
}

describe('Bland-Altman by hand', () => {
  // source: Bland & Altman 1986 and 1999, differences 1, 2, 3, 6: mean 3, SD sqrt(14 / 3), t with 3 df 3.1824463 (tables)
  test('one pair a participant', () => {
    const result = limits(blandAltman([1, 2, 3, 6]));
    const sd = Math.sqrt(14 / 3);
    const half = 3.1824463 * sd * Math.sqrt(1 / 4 + 1.96 ** 2 / 6);
    expect(result).toMatchObject({ value: 3, n: 4, participants: 4, level: 0.95, withinSd: null, betweenSd: null });
    expect(result.sd).toBeCloseTo(sd, 12);
    expect(result.biasInterval[0]).toBeCloseTo(3 - (3.1824463 * sd) / 2, 6);
    expect(result.biasInterval[1]).toBeCloseTo(3 + (3.1824463 * sd) / 2, 6);
    expect([result.lower, result.upper]).toEqual([3 - 1.96 * result.sd, 3 + 1.96 * result.sd]);
    expect(result.lowerInterval[0]).toBeCloseTo(result.lower - half, 6);
    expect(result.lowerInterval[1]).toBeCloseTo(result.lower + half, 6);
    expect(result.upperInterval[0]).toBeCloseTo(result.upper - half, 6);
    expect(result.upperInterval[1]).toBeCloseTo(result.upper + half, 6);
    expect(limits(blandAltman([1, 2, 6])).n).toBe(3);
  });

  // source: Bland & Altman 2007 and Zou 2013: mean squares 76 / 3 and 2, size 2, so 35 / 3 between and 2 within; t with
  // 3 df 3.1824463, chi-square with 3 df 0.2157953 and 9.3484036, with 4 df 0.4844186 and 11.1432868 (tables)
  test('two pairs a participant', () => {
    const groups = [[1, 3], [4, 6], [], [9, 11], [2, 4]];
    const result = limits(blandAltmanRepeated(groups));
    const total = 35 / 3 + 2;
    const sd = Math.sqrt(total);
    const bias = 3.1824463 * Math.sqrt(76 / 3 / 8);
    const [between, within] = [76 / 3 / 2, 1];
    const low = Math.sqrt(total - Math.hypot(between * (1 - 3 / 9.3484036), within * (1 - 4 / 11.1432868)));
    const high = Math.sqrt(total + Math.hypot(between * (3 / 0.2157953 - 1), within * (4 / 0.4844186 - 1)));
    const near = Math.hypot(bias, 1.96 * (sd - low));
    const far = Math.hypot(bias, 1.96 * (high - sd));
    expect(result).toMatchObject({ value: 5, n: 8, participants: 4, level: 0.95 });
    expect(result.withinSd).toBeCloseTo(Math.sqrt(2), 12);
    expect(result.betweenSd).toBeCloseTo(Math.sqrt(35 / 3), 12);
    expect(result.sd).toBeCloseTo(sd, 12);
    expect(result.biasInterval[0]).toBeCloseTo(5 - bias, 5);
    expect(result.biasInterval[1]).toBeCloseTo(5 + bias, 5);
    expect(result.lowerInterval[0]).toBeCloseTo(5 - 1.96 * sd - far, 4);
    expect(result.lowerInterval[1]).toBeCloseTo(5 - 1.96 * sd + near, 4);
    expect(result.upperInterval[0]).toBeCloseTo(5 + 1.96 * sd - near, 4);
    expect(result.upperInterval[1]).toBeCloseTo(5 + 1.96 * sd + far, 4);
  });

  // source: definition; pairs of a participant differ more than the participants do, so nothing is left between them
  test('no spread between participants', () => {
    const result = limits(
      blandAltmanRepeated([
        [-5, 5],
        [-4, 6],
        [-6, 4],
      ]),
    );
    expect(result.betweenSd).toBe(0);
    expect(result.sd).toBeCloseTo(Math.sqrt(50), 12);
    // chi-square with 3 df, tables: the interval of the SD is that of the within-participant one alone
    const [low, high] = [Math.sqrt(150 / 9.3484036), Math.sqrt(150 / 0.2157953)];
    const bias = result.biasInterval[1];
    // t with 2 df 4.3026527; variance of the mean 50 / 6
    expect(bias).toBeCloseTo(4.3026527 * Math.sqrt(50 / 6), 5);
    expect(result.upperInterval[0]).toBeCloseTo(result.upper - Math.hypot(bias, 1.96 * (result.sd - low)), 4);
    expect(result.upperInterval[1]).toBeCloseTo(result.upper + Math.hypot(bias, 1.96 * (high - result.sd)), 3);
  });

  test('groups of unlike size, and one with a single pair', () => {
    const result = limits(blandAltmanRepeated([[1], [2, 4], [6, 7, 8]]));
    // by hand: means 1, 3, 7, grand 28 / 6; within (2 + 2) / 3; between squares 1 x (11/3)^2 + 2 x (5/3)^2 + 3 x (7/3)^2
    const msBetween = (121 / 9 + 50 / 9 + 147 / 9) / 2;
    const size = (36 - 14) / 12;
    expect(result.value).toBeCloseTo(28 / 6, 12);
    expect(result.withinSd).toBeCloseTo(Math.sqrt(4 / 3), 12);
    expect(result.betweenSd).toBeCloseTo(Math.sqrt((msBetween - 4 / 3) / size), 12);
    const between = (msBetween - 4 / 3) / size;
    const bias = 4.3026527 * Math.sqrt((between * 14) / 36 + 4 / 3 / 6);
    expect(result.biasInterval[1] - result.value).toBeCloseTo(bias, 5);
  });
});

describe('kappa at its edges', () => {
  const value = (table: number[][]) => cohenKappa(table);
  const interval = (kappa: Kappa) => {
    if (kappa.value === null || kappa.interval === null) throw new Error('no interval');
    return kappa.interval;
  };

  // source: definition; 19 of 20 agree, 10 by chance; and one rater who always says the same agrees by chance alone
  test('has its interval cut at 1, and is 0 where one rater always says the same', () => {
    const high = value([
      [9, 1],
      [0, 10],
    ]);
    expect(high).toMatchObject({ value: expect.closeTo(0.9, 12), n: 20, level: 0.95 });
    expect(interval(high)[1]).toBe(1);
    expect(
      value([
        [5, 5],
        [0, 0],
      ]),
    ).toMatchObject({ value: 0 });
    expect(
      value([
        [5, 0],
        [5, 0],
      ]),
    ).toMatchObject({ value: 0 });
    const low = value([
      [1, 30],
      [30, 1],
    ]);
    expect(interval(low)[0]).toBe(-1);
  });

  test('takes square tables of whole counts only', () => {
    for (const table of [
      [],
      [[3]],
      [[1, 2], [3]],
      [
        [1, 2],
        [3, 4],
        [5, 6],
      ],
      [
        [1, -1],
        [2, 3],
      ],
      [
        [1, Number.NaN],
        [2, 3],
      ],
    ]) {
      expect(() => value(table)).toThrow(RangeError);
    }
    expect(
      value([
        [0, 0],
        [0, 7],
      ]),
    ).toMatchObject({ value: null, reason: expect.stringContaining('one and the same') });
  });

  test('counts who said what in rows of A and columns of B', () => {
    expect(ratingTable(['a', 'a', 'b', 'a'], ['b', 'b', 'b', 'a'], ['a', 'b'])).toEqual([
      [1, 2],
      [0, 1],
    ]);
    expect(() => ratingTable(['c'], ['a'], ['a', 'b'])).toThrow('a verdict is in no category');
  });
});

describe('concordance and errors at their edges', () => {
  // source: definition; covariance 0 gives 0, and z has no variance there
  test('no relation at all is 0 without an interval', () => {
    const none = linConcordance([1, 2, 3, 2], [1, 2, 1, 0]);
    expect(none).toMatchObject({ value: 0, n: 4, interval: null });
    expect(none).toMatchObject({ intervalReason: 'the variance of z has no value at 0 or at 1' });
    expect(linConcordance([1, 2, 3], [2, 2, 2])).toEqual({
      value: null,
      reason: 'one side does not vary, so nothing can go together',
    });
    expect(linConcordance([1, 2], [2, 1])).toEqual({ value: null, reason: 'needs three pairs' });
    expect(linConcordance([1, 2, 3], [3, 2, 1])).toMatchObject({ value: -1, interval: null });
  });

  test('a lower level gives a narrower interval about the same value', () => {
    const [wide, narrow] = [0.95, 0.8].map(level => linConcordance([1, 2, 3, 4, 6], [1, 3, 3, 5, 5], level));
    if (wide!.value === null || narrow!.value === null) throw new Error('no value');
    expect(wide!.value).toBe(narrow!.value);
    expect(narrow!.interval![0]).toBeGreaterThan(wide!.interval![0]);
    expect(narrow!.interval![1]).toBeLessThan(wide!.interval![1]);
    expect([wide!.level, narrow!.level]).toEqual([0.95, 0.8]);
  });

  // source: by hand
  test('errors count without their sign, against the size of the reference', () => {
    expect(meanAbsoluteError([1, 5, 0], [2, 3, 0])).toEqual({ value: 1, n: 3 });
    expect(meanAbsolutePercentageError([-1, 6], [-2, 4])).toEqual({ value: 50, n: 2 });
    expect(meanAbsolutePercentageError([], [])).toEqual({ value: null, reason: 'no pair to compare' });
    expect(meanAbsoluteError([], [])).toEqual({ value: null, reason: 'no pair to compare' });
    expect(meanAbsolutePercentageError([0, 4], [2, 4])).toEqual({ value: 50, n: 2 });
    expect(() => meanAbsolutePercentageError([1], [1, 2])).toThrow(RangeError);
  });
});

describe('intraclass correlations at their edges', () => {
  const forms: IccForm[] = ['1,1', '2,1', '3,1', '1,k', '2,k', '3,k'];

  test('judges who agree throughout give 1 without an interval', () => {
    const found = intraclassCorrelations([
      [1, 1],
      [2, 2],
      [4, 4],
    ]);
    for (const form of forms) {
      expect(found[form]).toEqual({
        value: 1,
        n: 3,
        level: 0.95,
        interval: null,
        intervalReason: 'no residual variance',
      });
    }
  });

  test('need two targets, two judges and some spread', () => {
    for (const form of forms) {
      expect(intraclassCorrelations([[1], [2]])[form]).toEqual({
        value: null,
        reason: 'needs two targets and two judges',
      });
      expect(intraclassCorrelations([[1, 2]])[form]).toMatchObject({ reason: 'needs two targets and two judges' });
      expect(intraclassCorrelations([])[form]).toMatchObject({ reason: 'needs two targets and two judges' });
      expect(
        intraclassCorrelations([
          [3, 3],
          [3, 3],
        ])[form],
      ).toMatchObject({ reason: 'all values are the same' });
    }
    expect(() =>
      intraclassCorrelations([
        [1, 2],
        [1, 2, 3],
      ]),
    ).toThrow('the table of ratings is not complete');
  });

  // source: Shrout & Fleiss 1979, by hand: mean squares between 19 / 6, judges 1 / 6, residual 1 / 6, within 1 / 6
  test('of three targets by hand', () => {
    const found = intraclassCorrelations([
      [1, 2],
      [3, 3],
      [4, 4],
    ]);
    const [b, j, e, w] = [19 / 6, 1 / 6, 1 / 6, 1 / 6];
    const values: Record<IccForm, number> = {
      '1,1': (b - w) / (b + w),
      '2,1': (b - e) / (b + e + (2 * (j - e)) / 3),
      '3,1': (b - e) / (b + e),
      '1,k': (b - w) / b,
      '2,k': (b - e) / (b + (j - e) / 3),
      '3,k': (b - e) / b,
    };
    for (const form of forms) expect(found[form].value, form).toBeCloseTo(values[form], 12);
  });

  // source: McGraw & Wong, Psychol Methods 1996;1:30, table 7, case 2, with SciPy 1.17 F quantiles
  test('have the interval of random judges', () => {
    const found = intraclassCorrelations([
      [10, 25, 30],
      [40, 38, 52],
      [70, 75, 74],
      [20, 41, 39],
      [90, 88, 99],
    ])['2,1'];
    if (found.value === null || found.interval === null) throw new Error('no interval');
    expect(found.value).toBeCloseTo(0.924917053140982, 12);
    expect(found.interval[0]).toBeCloseTo(0.6060799997632252, 9);
    expect(found.interval[1]).toBeCloseTo(0.9914994469301815, 9);
  });

  // source: by hand; both mean squares are 1, so targets differ no more than the ratings of one do
  test('are 0 where targets differ as much as ratings of one', () => {
    expect(
      intraclassCorrelations([
        [0, 2],
        [2, 2],
      ])['1,1'],
    ).toMatchObject({ value: expect.closeTo(0, 12), n: 2 });
  });

  // source: by hand; mean squares between 3 / 2, judges 0, residual 1 / 2
  test('of judges with one mean', () => {
    const found = intraclassCorrelations([
      [1, 2],
      [2, 1],
      [3, 3],
    ]);
    expect(found['2,k'].value).toBeCloseTo(1 / (3 / 2 - 1 / 6), 12);
    expect(found['2,1'].value).toBeCloseTo(1 / (2 - 1 / 3), 12);
  });

  test('of targets that do not differ have no interval', () => {
    const found = intraclassCorrelations([
      [1, 2],
      [2, 1],
    ]);
    expect(found['1,1']).toMatchObject({ value: -1, interval: null });
    expect(found['3,1']).toMatchObject({ interval: null });
  });
});
