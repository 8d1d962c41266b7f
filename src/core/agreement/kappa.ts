import { normalQuantile } from '../score/distributions';
import { type Interval, notComputable } from '../score/result';

/** Cohen's kappa of a k x k table, or the reason why there is none. */
export type Kappa =
  | {
      readonly value: number;
      /** Things rated by both. */
      readonly n: number;
      readonly observedAgreement: number;
      readonly chanceAgreement: number;
      readonly standardError: number;
      readonly level: number;
      /** Clipped to [-1, 1]; null when the standard error is 0, as with perfect agreement: the method has no width then. */
      readonly interval: Interval | null;
    }
  | { readonly value: null; readonly reason: string };

/**
 * Unweighted kappa (Cohen, Educ Psychol Meas 1960;20:37) with the large-sample standard error of Fleiss, Cohen & Everitt
 * (Psychol Bull 1969;72:323, eq. 13) and a normal interval. `table[i][j]`: how often rater A said i and rater B said j.
 */
export function cohenKappa(table: readonly (readonly number[])[], level = 0.95): Kappa {
  const k = table.length;
  const flat = table.flat();
  if (k < 2 || table.some(row => row.length !== k)) throw new RangeError('kappa needs a square table, 2 x 2 or larger');
  if (flat.some(c => !Number.isSafeInteger(c) || c < 0)) throw new RangeError('kappa needs whole counts');
  const n = flat.reduce((a, b) => a + b, 0);
  if (n === 0) return notComputable('nothing was rated by both raters');
  const share = table.map(row => row.map(c => c / n));
  const rows = share.map(row => row.reduce((a, b) => a + b, 0));
  const columns = rows.map((_, j) => share.reduce((sum, row) => sum + row[j]!, 0));
  if (rows.some((r, i) => r > 1 - 1e-12 && columns[i]! > 1 - 1e-12)) {
    return notComputable('both raters used one and the same category throughout, so chance agreement is 1');
  }
  const observed = share.reduce((sum, row, i) => sum + row[i]!, 0);
  const chance = rows.reduce((sum, r, i) => sum + r * columns[i]!, 0);
  const value = (observed - chance) / (1 - chance);
  const standardError = Math.sqrt(varianceOf(share, rows, columns, observed, chance) / n);
  const half = normalQuantile(0.5 + level / 2) * standardError;
  const interval: Interval | null = half > 0 ? [Math.max(-1, value - half), Math.min(1, value + half)] : null;
  return { value, n, observedAgreement: observed, chanceAgreement: chance, standardError, level, interval };
}

/** n times the variance of kappa. Sums that should be 0 come out around 1e-17: they are taken as 0. */
function varianceOf(
  share: readonly (readonly number[])[],
  rows: readonly number[],
  columns: readonly number[],
  observed: number,
  chance: number,
): number {
  let sum = -((observed * chance - 2 * chance + observed) ** 2);
  for (let i = 0; i < rows.length; i++) {
    for (let j = 0; j < rows.length; j++) {
      const p = share[i]![j]!;
      if (i === j) sum += p * (1 - chance - (rows[i]! + columns[i]!) * (1 - observed)) ** 2;
      else sum += p * (1 - observed) ** 2 * (columns[i]! + rows[j]!) ** 2;
    }
  }
  return sum < 1e-14 ? 0 : sum / (1 - chance) ** 4;
}

/** The k x k table of two raters' verdicts on the same things, categories in the given order. */
export function ratingTable<T>(a: readonly T[], b: readonly T[], categories: readonly T[]): number[][] {
  if (a.length !== b.length) throw new RangeError(`verdicts of ${a.length} things against ${b.length}`);
  const place = new Map(categories.map((c, i) => [c, i] as const));
  const table = categories.map(() => categories.map(() => 0));
  a.forEach((verdict, i) => {
    const row = place.get(verdict);
    const column = place.get(b[i]!);
    if (row === undefined || column === undefined) throw new RangeError('a verdict is in no category');
    table[row]![column]!++;
  });
  return table;
}
