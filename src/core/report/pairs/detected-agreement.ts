import { type BlandAltman, blandAltmanRepeated } from '../../agreement/bland-altman';
import { type EquivalenceResult, equivalence } from '../../agreement/equivalence';
import { type RegressionLimitsResult, regressionLimits } from '../../agreement/regression-limits';
import type { Occasions } from '../../agreement/repeated-concordance';
import { joined, mean } from '../../moments';
import { type BootstrapResult, type BootstrapSettings, ratioOfSums, sumBootstraps } from '../../score/bootstrap';
import { notComputable } from '../../score/result';
import { type DetectedCell, type DetectedMeasure, detectedMeasures } from './as-detected';

/** Largest bias that counts as none, by measure, in its unit; a study names them before it looks. */
export type Margins = Readonly<Partial<Record<DetectedMeasure, number>>>;

/** Agreement with every mistake included, for one measure and activity. */
export interface DetectedRow {
  readonly measure: DetectedMeasure;
  /** Null: all activities together. */
  readonly activity: string | null;
  readonly volunteers: number;
  /** Pairs of values, and what one side has and the other has not. */
  readonly pairs: number;
  readonly unpaired: number;
  readonly blandAltman: BlandAltman;
  /** Bias and limits from a cluster bootstrap by volunteer, whatever the shape of the differences. */
  readonly bias: BootstrapResult;
  readonly lower: BootstrapResult;
  readonly upper: BootstrapResult;
  readonly meanAbsoluteError: BootstrapResult;
  readonly meanAbsolutePercentageError: BootstrapResult;
  readonly regression: RegressionLimitsResult;
  readonly slope: BootstrapResult;
  readonly concordance: BootstrapResult;
  readonly equivalence: EquivalenceResult;
}

export const detectedMethods = {
  limits:
    'bias and 95 % limits of agreement from variance components with repeated pairs (Bland & Altman, J Biopharm Stat 2007;17:571), their intervals by MOVER on the mixed model (Zou, Stat Methods Med Res 2013;22:630; Parker et al., Stat Methods Med Res 2016) and by a cluster bootstrap over volunteers (expanded BCa)',
  regression:
    'proportional bias and limits by regression of the difference on the mean (Bland & Altman, Stat Methods Med Res 1999;8:135), interval of the slope by the cluster bootstrap',
  concordance:
    'concordance for repeated measures (King, Chinchilli & Carrasco, Stat Med 2007;26:3095), minutes or segments as occasions',
  equivalence:
    'two one-sided tests at 5 % on volunteers’ mean differences (Schuirmann, J Pharmacokinet Biopharm 1987;15:657) against the margin the study names',
} as const;

export function detectedAgreement(
  cells: readonly DetectedCell[],
  settings: BootstrapSettings,
  margins: Margins = {},
): DetectedRow[] {
  const activities = [...new Set(cells.map(c => c.activity)), null];
  const paired = cells.map(pairsIn);
  return (Object.keys(detectedMeasures) as DetectedMeasure[]).flatMap(measure => {
    const ofMeasure = paired.filter(c => c.measure === measure);
    return activities.map(activity => {
      const picked = ofMeasure.filter(c => activity === null || c.activity === activity);
      return row(measure, activity, picked, settings, margins[measure] ?? null);
    });
  });
}

/** A cell with those of its values that are pairs. */
interface PairedCell extends DetectedCell {
  readonly pairsA: Float64Array;
  readonly pairsB: Float64Array;
}

function pairsIn(cell: DetectedCell): PairedCell {
  const { a, b } = cell;
  const pairsA = new Float64Array(a.length);
  const pairsB = new Float64Array(a.length);
  let n = 0;
  for (let i = 0; i < a.length; i++) {
    if (!Number.isFinite(a[i]) || !Number.isFinite(b[i])) continue;
    pairsA[n] = a[i]!;
    pairsB[n++] = b[i]!;
  }
  return { ...cell, pairsA: pairsA.subarray(0, n), pairsB: pairsB.subarray(0, n) };
}

/** One volunteer's pairs, and sums over them: a draw of volunteers adds these up. */
interface Own {
  readonly a: Float64Array;
  readonly b: Float64Array;
  readonly differences: Float64Array;
  readonly meanDifference: number;
  /** In the order of `Total`; then of each occasion: whether both have a value, then x, y, xx, yy and xy about the origin. */
  readonly sums: Float64Array;
}

/** Sums over drawn volunteers; d = difference, m = mean of both about an origin. */
enum Total {
  volunteers = 0,
  pairs = 1,
  squaredPairs = 2,
  d = 3,
  squaredMeans = 4,
  within = 5,
  absolute = 6,
  relative = 7,
  m = 8,
  mm = 9,
  md = 10,
  size = 11,
}

function row(
  measure: DetectedMeasure,
  activity: string | null,
  cells: readonly PairedCell[],
  settings: BootstrapSettings,
  margin: number | null,
): DetectedRow {
  const origin = cells.find(c => Number.isFinite(c.b[0]))?.b[0] ?? 0;
  // Intervals have no common occasions.
  const places = placesOf(measure === 'rr' ? [] : cells);
  const names = [...new Set(cells.map(c => c.volunteer))];
  const all = names.map(name => {
    const own = cells.filter(c => c.volunteer === name);
    return ownOf(own, places, origin);
  });
  const volunteers = all.filter(v => v.differences.length > 0);
  const sides = cells.reduce((n, c) => n + Math.max(c.a.length, c.b.length), 0);
  const pairs = volunteers.reduce((n, v) => n + v.differences.length, 0);
  const none = withoutMeaning(measure);
  const asked = Object.fromEntries(Object.entries(statistics).filter(([name]) => !(name in none)));
  return {
    measure,
    activity,
    volunteers: volunteers.length,
    pairs,
    unpaired: sides - pairs,
    blandAltman: blandAltmanRepeated(
      volunteers.map(v => v.differences),
      { level: settings.level, multiplier: 1.96 },
    ),
    ...sumBootstraps(
      volunteers.map(v => v.sums),
      asked as typeof statistics,
      settings,
    ),
    ...none,
    regression: regressionLimits(joined(volunteers.map(v => v.a)), joined(volunteers.map(v => v.b))),
    equivalence: equivalence(
      volunteers.map(v => v.meanDifference),
      margin,
    ),
  };
}

/** What is not asked of a measure, and why. */
function withoutMeaning(measure: DetectedMeasure): Partial<Record<keyof typeof statistics, BootstrapResult>> {
  if (measure === 'rr') return { concordance: notComputable('intervals have no common occasions') };
  if (measure === 'lnRmssd') return { meanAbsolutePercentageError: notComputable('a logarithm has no percentage') };
  return {};
}

/** Each over the sums of one draw after the other. */
const statistics = {
  bias: ratioOfSums(Total.d, Total.pairs),
  lower: (sums: Float64Array, size: number, out: Float64Array) => limits(sums, size, out, -1.96),
  upper: (sums: Float64Array, size: number, out: Float64Array) => limits(sums, size, out, 1.96),
  meanAbsoluteError: ratioOfSums(Total.absolute, Total.pairs),
  meanAbsolutePercentageError: ratioOfSums(Total.relative, Total.pairs, 100),
  slope: slopes,
  concordance: concordances,
};

function ownOf(cells: readonly PairedCell[], places: Places, origin: number): Own {
  const a = joined(cells.map(c => c.pairsA));
  const b = joined(cells.map(c => c.pairsB));
  const differences = new Float64Array(a.length);
  for (let i = 0; i < a.length; i++) differences[i] = a[i]! - b[i]!;
  const meanDifference = differences.length > 0 ? mean(differences) : Number.NaN;
  const sums = sumsOf(a, b, meanDifference, origin);
  return { a, b, differences, meanDifference, sums: joined([sums, momentsOf(occasionsOf(cells, places), origin)]) };
}

function sumsOf(a: Float64Array, b: Float64Array, meanDifference: number, origin: number): Float64Array {
  const n = a.length;
  const sums = new Float64Array(Total.size);
  sums[Total.volunteers] = 1;
  sums[Total.pairs] = n;
  sums[Total.squaredPairs] = n * n;
  sums[Total.squaredMeans] = n * meanDifference * meanDifference;
  for (let i = 0; i < n; i++) {
    const d = a[i]! - b[i]!;
    const m = (a[i]! + b[i]!) / 2 - origin;
    sums[Total.d]! += d;
    sums[Total.within]! += (d - meanDifference) * (d - meanDifference);
    sums[Total.absolute]! += Math.abs(d);
    sums[Total.relative]! += Math.abs(d / b[i]!);
    sums[Total.m]! += m;
    sums[Total.mm]! += m * m;
    sums[Total.md]! += m * d;
  }
  return sums;
}

function momentsOf({ x, y }: Occasions, origin: number): Float64Array {
  const out = new Float64Array(6 * x.length);
  for (let k = 0; k < x.length; k++) {
    if (!Number.isFinite(x[k]) || !Number.isFinite(y[k])) continue;
    const [u, v] = [x[k]! - origin, y[k]! - origin];
    out.set([1, u, v, u * u, v * v, u * v], 6 * k);
  }
  return out;
}

/** Where the occasions of each activity start, and how many there are in all: a minute or a segment is an occasion. */
interface Places {
  readonly starts: ReadonlyMap<string, number>;
  readonly size: number;
}

function placesOf(cells: readonly DetectedCell[]): Places {
  const starts = new Map<string, number>();
  let size = 0;
  for (const activity of new Set(cells.map(c => c.activity))) {
    starts.set(activity, size);
    size += Math.max(...cells.filter(c => c.activity === activity).map(c => Math.min(c.a.length, c.b.length)));
  }
  return { starts, size };
}

function occasionsOf(cells: readonly DetectedCell[], { starts, size }: Places): Occasions {
  const x = new Float64Array(size).fill(Number.NaN);
  const y = x.slice();
  for (const cell of cells) {
    const at = starts.get(cell.activity);
    if (at === undefined) continue;
    for (let i = 0; i < Math.min(cell.a.length, cell.b.length); i++) {
      x[at + i] = cell.a[i]!;
      y[at + i] = cell.b[i]!;
    }
  }
  return { x, y };
}

/** Bias -+ SD of all sources, by the same analysis of variance as `blandAltmanRepeated`. */
function limits(sums: Float64Array, size: number, out: Float64Array, multiplier: number): void {
  for (let i = 0, at = 0; i < out.length; i++, at += size) {
    const k = sums[at + Total.volunteers]!;
    const n = sums[at + Total.pairs]!;
    const bias = sums[at + Total.d]! / n;
    const between = Math.max(0, sums[at + Total.squaredMeans]! - n * bias * bias) / (k - 1);
    const within = sums[at + Total.within]! / (n - k);
    const share = (n * n - sums[at + Total.squaredPairs]!) / ((k - 1) * n);
    // One pair each: all of the spread is between volunteers.
    const spread = n === k ? between : within + Math.max(0, (between - within) / share);
    out[i] = k < 3 ? Number.NaN : bias + multiplier * Math.sqrt(spread);
  }
}

function slopes(sums: Float64Array, size: number, out: Float64Array): void {
  for (let i = 0, at = 0; i < out.length; i++, at += size) {
    const n = sums[at + Total.pairs]!;
    const m = sums[at + Total.m]!;
    const mm = sums[at + Total.mm]!;
    const spread = mm - (m * m) / n;
    out[i] = spread > 1e-9 * (1 + mm) ? (sums[at + Total.md]! - (m * sums[at + Total.d]!) / n) / spread : Number.NaN;
  }
}

/** `repeatedConcordance` from sums over the drawn volunteers. */
function concordances(sums: Float64Array, size: number, out: Float64Array): void {
  for (let i = 0; i < out.length; i++) {
    let above = 0;
    let below = 0;
    for (let at = i * size + Total.size; at < (i + 1) * size; at += 6) {
      const n = sums[at]!;
      if (n < 3) continue;
      const sx = sums[at + 1]!;
      const sy = sums[at + 2]!;
      const shift = (sx - sy) / n;
      above += (2 * (sums[at + 5]! - (sx * sy) / n)) / (n - 1);
      below += (sums[at + 3]! - (sx * sx) / n + sums[at + 4]! - (sy * sy) / n) / (n - 1) + shift * shift;
    }
    out[i] = below > 1e-12 ? above / below : Number.NaN;
  }
}
