import { mean } from '../moments';
import { fQuantile } from '../score/distributions';
import { type Estimate, type Interval, notComputable } from '../score/result';
import { allFinite, notANumber } from './finite';

/** Names after Shrout & Fleiss: (model, 1 = one judge, k = the mean of all judges). */
export type IccForm = '1,1' | '2,1' | '3,1' | '1,k' | '2,k' | '3,k';

interface MeanSquares {
  readonly n: number;
  readonly k: number;
  readonly between: number;
  readonly within: number;
  readonly judges: number;
  readonly residual: number;
}

/**
 * The six intraclass correlations of a complete table `ratings[target][judge]` with F-based intervals (Shrout & Fleiss,
 * Psychol Bull 1979;86:420; the interval of (2,1) with Satterthwaite's df as there, that of (2,k) by Spearman-Brown).
 * n = targets.
 */
export function intraclassCorrelations(
  ratings: readonly (readonly number[])[],
  level = 0.95,
): Record<IccForm, Estimate> {
  const k = ratings[0]?.length ?? 0;
  if (ratings.some(row => row.length !== k)) throw new RangeError('the table of ratings is not complete');
  if (ratings.length < 2 || k < 2) return everyForm(notComputable('needs two targets and two judges'));
  if (!ratings.every(row => allFinite(row))) return everyForm(notComputable(notANumber));
  return formsOf(meanSquares(ratings), sizeOf(ratings), level);
}

/** The same of two judges whose ratings come as two lists: of RR intervals there are tens of thousands. */
export function pairedIntraclassCorrelations(
  a: Float64Array,
  b: Float64Array,
  level = 0.95,
): Record<IccForm, Estimate> {
  if (a.length !== b.length) throw new RangeError('the table of ratings is not complete');
  if (a.length < 2) return everyForm(notComputable('needs two targets and two judges'));
  if (!allFinite(a, b)) return everyForm(notComputable(notANumber));
  let size = 0;
  for (let i = 0; i < a.length; i++) size += a[i]! * a[i]! + b[i]! * b[i]!;
  return formsOf(pairedMeanSquares(a, b), size / (2 * a.length), level);
}

/** `size`: mean square of the values, what their rounding is measured by. */
function formsOf(squares: MeanSquares, size: number, level: number): Record<IccForm, Estimate> {
  const { k } = squares;
  if (squares.between + squares.within === 0) return everyForm(notComputable('all values are the same'));
  // Rounding leaves a trace of the squares of the values.
  if (squares.between + squares.residual < 1e-24 * size) return everyForm(notComputable('the targets do not differ'));
  const { n, between: b, within: w, residual: e, judges: j } = squares;
  const one = (noise: number) => (b - noise) / (b + (k - 1) * noise);
  const average = (noise: number): number | null => (b > 0 ? (b - noise) / b : null);
  const second = (b - e) / (b + (k - 1) * e + (k * (j - e)) / n);
  const secondAverage = b + (j - e) / n > 0 ? (b - e) / (b + (j - e) / n) : null;
  const f1 = fLimits(b, w, n - 1, n * (k - 1), level);
  const f3 = fLimits(b, e, n - 1, (n - 1) * (k - 1), level);
  const random = randomJudges(squares, second, level);
  const single = (f: number) => (f - 1) / (f + k - 1);
  const mean = (f: number) => 1 - 1 / f;
  const stepUp = (r: number) => (k * r) / (1 + (k - 1) * r);
  const give = (value: number | null, limits: Interval | null, map: (f: number) => number): Estimate => {
    if (value === null) return notComputable('the targets do not differ');
    if (limits === null) return { value, n, level, interval: null, intervalReason: 'no residual variance' };
    return { value, n, level, interval: [map(limits[0]), map(limits[1])] };
  };
  return {
    '1,1': give(one(w), f1, single),
    '2,1': give(second, random, r => r),
    '3,1': give(one(e), f3, single),
    '1,k': give(average(w), f1, mean),
    '2,k': give(secondAverage, random, stepUp),
    '3,k': give(average(e), f3, mean),
  };
}

function sizeOf(ratings: readonly (readonly number[])[]): number {
  let sum = 0;
  for (const row of ratings) for (let j = 0; j < row.length; j++) sum += row[j]! * row[j]!;
  return sum / (ratings.length * ratings[0]!.length);
}

function everyForm(result: Estimate): Record<IccForm, Estimate> {
  return { '1,1': result, '2,1': result, '3,1': result, '1,k': result, '2,k': result, '3,k': result };
}

/** Two-way analysis of variance with one rating in each cell. */
function meanSquares(ratings: readonly (readonly number[])[]): MeanSquares {
  const n = ratings.length;
  const k = ratings[0]!.length;
  const rowMeans = ratings.map(mean);
  const columnMeans = ratings[0]!.map((_, j) => mean(ratings.map(row => row[j]!)));
  const grand = mean(rowMeans);
  let within = 0;
  let residual = 0;
  for (let i = 0; i < n; i++) {
    for (let j = 0; j < k; j++) {
      const off = ratings[i]![j]! - rowMeans[i]!;
      within += off ** 2;
      residual += (off - columnMeans[j]! + grand) ** 2;
    }
  }
  const squaresOf = (means: readonly number[]) => means.reduce((sum, m) => sum + (m - grand) ** 2, 0);
  return {
    n,
    k,
    between: (k * squaresOf(rowMeans)) / (n - 1),
    within: within / (n * (k - 1)),
    judges: (n * squaresOf(columnMeans)) / (k - 1),
    residual: residual / ((n - 1) * (k - 1)),
  };
}

/** `meanSquares` of a table of two columns. */
function pairedMeanSquares(a: Float64Array, b: Float64Array): MeanSquares {
  const n = a.length;
  const [meanA, meanB] = [mean(a), mean(b)];
  let sum = 0;
  for (let i = 0; i < n; i++) sum += (a[i]! + b[i]!) / 2;
  const grand = sum / n;
  let [between, within, residual] = [0, 0, 0];
  for (let i = 0; i < n; i++) {
    const own = (a[i]! + b[i]!) / 2;
    const [offA, offB] = [a[i]! - own, b[i]! - own];
    const [restA, restB] = [offA - meanA + grand, offB - meanB + grand];
    between += (own - grand) * (own - grand);
    within += offA * offA + offB * offB;
    residual += restA * restA + restB * restB;
  }
  const judges = (meanA - grand) * (meanA - grand) + (meanB - grand) * (meanB - grand);
  return {
    n,
    k: 2,
    between: (2 * between) / (n - 1),
    within: within / n,
    judges: n * judges,
    residual: residual / (n - 1),
  };
}

/** Confidence limits of the ratio of expected mean squares. */
function fLimits(between: number, noise: number, df1: number, df2: number, level: number): Interval | null {
  if (noise === 0 || between === 0) return null;
  const p = 0.5 + level / 2;
  const f = between / noise;
  return [f / fQuantile(p, df1, df2), f * fQuantile(p, df2, df1)];
}

/** Limits of ICC(2,1), judges taken as a random sample. */
function randomJudges({ n, k, between, judges, residual }: MeanSquares, r: number, level: number): Interval | null {
  if (residual === 0 || between === 0) return null;
  const p = 0.5 + level / 2;
  const f = judges / residual;
  const rest = n * (1 + (k - 1) * r) - k * r;
  const top = (k - 1) * (n - 1) * (k * r * f + rest) ** 2;
  const df = top / ((n - 1) * k * k * r * r * f * f + rest * rest);
  const noise = k * judges + (k * n - k - n) * residual;
  const upper = fQuantile(p, n - 1, df);
  const lower = fQuantile(p, df, n - 1);
  return [
    (n * (between - upper * residual)) / (upper * noise + n * between),
    (n * (lower * between - residual)) / (noise + n * lower * between),
  ];
}
