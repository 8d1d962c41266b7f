import { describe, expect, test } from 'vitest';
import { type BlandAltman, blandAltman, blandAltmanRepeated } from '../../../../src/core/agreement/bland-altman';
import { randomFromNumber } from '../../../../src/core/random';
import { chiSquareQuantile } from '../../../../src/core/score/chi-square';
import reference from '../../../reference/agreement/agreement.json';

/** First peak expiratory flow readings of 17 subjects, L/min, large and mini meter (data from memory). */
const large = [494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427];
const mini = [512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451];

function limits(result: BlandAltman) {
  if (result.value === null) throw new Error(result.reason);
  return result;
}

describe('Bland-Altman, one pair a participant', () => {
  const differences = large.map((v, i) => v - mini[i]!);

  // source: Bland & Altman, Lancet 1986;i:307 (data and values from memory; the data give exactly these values)
  test('peak flow, 17 subjects', () => {
    const result = limits(blandAltman(differences, { level: 0.95, multiplier: 2 }));
    expect(result.value).toBeCloseTo(-2.1, 1);
    expect(result.sd).toBeCloseTo(38.8, 1);
    expect(result.lower).toBeCloseTo(-79.7, 0);
    expect(result.upper).toBeCloseTo(75.5, 0);
    expect(result.biasInterval[0]).toBeCloseTo(-22.0, 0);
    expect(result.biasInterval[1]).toBeCloseTo(17.8, 0);
  });

  // source: Bland & Altman 1986, which takes 3 s^2 / n for the variance of a limit: -114.3 to -45.1 (from memory)
  test('intervals of the limits are near the paper', () => {
    const result = limits(blandAltman(differences, { level: 0.95, multiplier: 2 }));
    expect(Math.abs(result.lowerInterval[0] - -114.3)).toBeLessThan(1);
    expect(Math.abs(result.lowerInterval[1] - -45.1)).toBeLessThan(1);
  });
});

// source: SciPy 1.10, scipy.stats.chi2.ppf
test('chi-square quantiles', () => {
  for (const [p, df, expected] of reference.chiSquareQuantile) {
    expect(chiSquareQuantile(p!, df!) / expected!).toBeCloseTo(1, 9);
  }
});

describe('Bland-Altman, repeated pairs', () => {
  // source: SciPy 1.10, scipy.stats.f_oneway on the same groups (tests/reference/agreement)
  test.each(reference.repeated)('variance components', ({ groups, bias, withinSd, betweenSd, sd }) => {
    const result = limits(blandAltmanRepeated(groups));
    expect(result.value).toBeCloseTo(bias, 10);
    expect(result.withinSd).toBeCloseTo(withinSd, 10);
    expect(result.betweenSd).toBeCloseTo(betweenSd, 10);
    expect(result.sd).toBeCloseTo(sd, 10);
    expect(result.upper - result.lower).toBeCloseTo(2 * 1.96 * sd, 9);
  });

  test('one pair each is the simple method', () => {
    const simple = limits(blandAltman([1, 4, 2, 8, -3]));
    expect(blandAltmanRepeated([[1], [4], [], [2], [8], [-3]])).toEqual(simple);
  });

  // source: definition of a 95 % interval; 500 simulated studies of 12 participants x 6 pairs, known bias and limits
  test('intervals cover the truth', () => {
    const random = randomFromNumber(11);
    let bias = 0;
    let upper = 0;
    const studies = 500;
    for (let s = 0; s < studies; s++) {
      const groups = Array.from({ length: 12 }, () => {
        const own = 2 + 3 * random.normal();
        return Array.from({ length: 6 }, () => own + 4 * random.normal());
      });
      const result = limits(blandAltmanRepeated(groups));
      const limit = 2 + 1.96 * 5;
      if (result.biasInterval[0] <= 2 && 2 <= result.biasInterval[1]) bias++;
      if (result.upperInterval[0] <= limit && limit <= result.upperInterval[1]) upper++;
    }
    expect(bias / studies).toBeGreaterThan(0.92);
    expect(bias / studies).toBeLessThan(0.98);
    expect(upper / studies).toBeGreaterThan(0.92);
    expect(upper / studies).toBeLessThan(0.985);
  });

  test('says why it cannot be computed', () => {
    expect(blandAltman([1, 2])).toMatchObject({ value: null, reason: 'needs three pairs' });
    expect(blandAltmanRepeated([[1, 2], [3], []])).toMatchObject({ value: null, reason: 'needs three participants' });
  });
});
