/**
 * Agreement of two or more raters on categories, from the matrix of coincidences: each unit adds, for every ordered pair of
 * its m ratings, 1 / (m - 1) to the cell of the two categories (Krippendorff, Content Analysis, 2004, ch. 11). Symmetric;
 * its sum is the number of ratings. NaN where a measure has no value.
 */
export type Coincidences = readonly (readonly number[])[];

export const totalsOf = (matrix: Coincidences): number[] => matrix.map(row => row.reduce((sum, v) => sum + v, 0));

/** The matrix of units rated by `raters` each, from the agreement table of every pair of them. */
export function coincidencesOfPairs(tables: readonly Coincidences[], raters: number): number[][] {
  const size = tables[0]?.length ?? 0;
  const cell = (i: number, j: number) => tables.reduce((sum, t) => sum + t[i]![j]! + t[j]![i]!, 0) / (raters - 1);
  return Array.from({ length: size }, (_, i) => Array.from({ length: size }, (__, j) => cell(i, j)));
}

function shares(matrix: Coincidences) {
  const totals = totalsOf(matrix);
  const n = totals.reduce((sum, v) => sum + v, 0);
  const agreed = matrix.reduce((sum, row, i) => sum + row[i]!, 0);
  return { totals, n, agreed };
}

/** Share of the pairs of ratings that agree. */
export function observedAgreement(matrix: Coincidences): number {
  const { n, agreed } = shares(matrix);
  return agreed / n;
}

/** Fleiss' kappa (Psychol Bull 1971;76:378): chance agreement from the categories' shares of all ratings. */
export function fleissKappa(matrix: Coincidences): number {
  const { totals, n, agreed } = shares(matrix);
  const chance = totals.reduce((sum, t) => sum + (t / n) ** 2, 0);
  return chance < 1 ? (agreed / n - chance) / (1 - chance) : Number.NaN;
}

/** Krippendorff's alpha for categories without order: Fleiss' kappa with chance agreement for a finite sample. */
export function krippendorffAlpha(matrix: Coincidences): number {
  const { totals, n, agreed } = shares(matrix);
  const chance = totals.reduce((sum, t) => sum + t * (t - 1), 0) / (n - 1);
  return n - chance > 1e-9 * n ? (agreed - chance) / (n - chance) : Number.NaN;
}

/**
 * Specific agreement on one category: when one rater chose it, how often another one did too (Cicchetti & Feinstein, J Clin
 * Epidemiol 1990;43:551, for two raters and two categories 2a / (2a + b + c)).
 */
export function specificAgreement(matrix: Coincidences, category: number): number {
  return matrix[category]![category]! / totalsOf(matrix)[category]!;
}
