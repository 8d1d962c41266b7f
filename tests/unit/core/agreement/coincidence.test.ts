import { describe, expect, test } from 'vitest';
import {
  coincidencesOfPairs,
  fleissKappa,
  krippendorffAlpha,
  observedAgreement,
  specificAgreement,
} from '../../../../src/core/agreement/coincidence';

/** Straight from the definition: every ordered pair of ratings of a unit. */
function coincidences(units: readonly (readonly number[])[], categories: number): number[][] {
  const matrix = Array.from({ length: categories }, () => new Array<number>(categories).fill(0));
  for (const ratings of units.filter(u => u.length > 1)) {
    for (const [i, a] of ratings.entries())
      for (const [j, b] of ratings.entries()) if (i !== j) matrix[a]![b]! += 1 / (ratings.length - 1);
  }
  return matrix;
}

describe('agreement of several raters', () => {
  // source: Fleiss, Psychol Bull 1971;76:378, the method on a table of 10 subjects by 14 raters: kappa 0.210 (from memory)
  test('Fleiss’ kappa of ten subjects by fourteen raters', () => {
    const table = [
      [0, 0, 0, 0, 14],
      [0, 2, 6, 4, 2],
      [0, 0, 3, 5, 6],
      [0, 3, 9, 2, 0],
      [2, 2, 8, 1, 1],
      [7, 7, 0, 0, 0],
      [3, 2, 6, 3, 0],
      [2, 5, 3, 2, 2],
      [6, 5, 2, 1, 0],
      [0, 2, 2, 3, 7],
    ];
    const units = table.map(row => row.flatMap((n, category) => new Array<number>(n).fill(category)));
    const matrix = coincidences(units, 5);
    expect(observedAgreement(matrix)).toBeCloseTo(0.378, 3);
    expect(fleissKappa(matrix)).toBeCloseTo(0.21, 3);
  });

  // source: Krippendorff, Computing Krippendorff's alpha-reliability, 2011, section C: nominal alpha 0.743 (from memory)
  test('Krippendorff’s alpha of four observers with missing ratings', () => {
    const observers = [
      '1 2 3 3 2 1 4 1 2 . . .',
      '1 2 3 3 2 2 4 1 2 5 . 3',
      '. 3 3 3 2 3 4 2 2 5 1 .',
      '1 2 3 3 2 4 4 1 2 5 1 .',
    ].map(line => line.split(' '));
    const units = observers[0]!.map((_, u) => observers.flatMap(o => (o[u] === '.' ? [] : [Number(o[u]) - 1])));
    expect(krippendorffAlpha(coincidences(units, 5))).toBeCloseTo(0.743, 3);
  });

  // source: Cicchetti & Feinstein, J Clin Epidemiol 1990;43:551, definition: 2a / (2a + b + c)
  test('specific agreement of two raters, and of a category that nobody chose', () => {
    const matrix = coincidencesOfPairs(
      [
        [
          [40, 9],
          [6, 45],
        ],
      ],
      2,
    );
    expect(specificAgreement(matrix, 0)).toBeCloseTo(80 / 95, 12);
    expect(specificAgreement(matrix, 1)).toBeCloseTo(90 / 105, 12);
    expect(
      specificAgreement(
        coincidencesOfPairs(
          [
            [
              [4, 0],
              [0, 0],
            ],
          ],
          2,
        ),
        1,
      ),
    ).toBeNaN();
  });

  // source: definition
  test('tables of all pairs of three raters add up to the coincidences of their units', () => {
    const units = Array.from({ length: 60 }, (_, u) => [u % 3, (u * 7) % 3, u % 5 === 0 ? 2 : u % 3]);
    const tables = [
      [0, 1],
      [0, 2],
      [1, 2],
    ].map(([i, j]) => {
      const t = Array.from({ length: 3 }, () => [0, 0, 0]);
      for (const unit of units) t[unit[i!]!]![unit[j!]!]!++;
      return t;
    });
    const fromPairs = coincidencesOfPairs(tables, 3);
    for (const [i, row] of coincidences(units, 3).entries())
      for (const [j, v] of row.entries()) expect(fromPairs[i]![j]).toBeCloseTo(v, 10);
  });

  test('have no value where every rating is the same', () => {
    const matrix = coincidencesOfPairs(
      [
        [
          [12, 0],
          [0, 0],
        ],
      ],
      2,
    );
    expect(krippendorffAlpha(matrix)).toBeNaN();
    expect(fleissKappa(matrix)).toBeNaN();
    expect(observedAgreement(matrix)).toBe(1);
  });
});
