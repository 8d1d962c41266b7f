import { mean, sortedQuantile, sortFinite, standardDeviation } from '../moments';
import { randomFromNumber } from '../random';
import { normalCdf, normalQuantile, tQuantile } from './distributions';
import { type Interval, notComputable } from './result';

/**
 * Bootstrap by participant: RR intervals of one person are not independent, so whole participants are drawn with
 * replacement (Field & Welsh, J R Stat Soc B 2007;69:369, the cluster bootstrap).
 */

export interface BootstrapSettings {
  readonly draws: number;
  readonly seed: number;
  readonly level: number;
}

export const defaultBootstrapSettings: BootstrapSettings = { draws: 2000, seed: 1, level: 0.95 };

export interface BootstrapIntervals extends BootstrapSettings {
  readonly value: number;
  /** Participants. */
  readonly n: number;
  /** Draws in which the statistic could not be computed; they are left out of the intervals. */
  readonly undefinedDraws: number;
  /** All null when every draw gives the same value: resampling then says nothing about the spread. */
  readonly percentile: Interval | null;
  /** Tail shares widened for few participants. */
  readonly expandedPercentile: Interval | null;
  readonly bca: Interval | null;
  /** BCa with the same wider tail shares. */
  readonly expandedBca: Interval | null;
  readonly intervalReason?: string;
}

export type BootstrapResult = BootstrapIntervals | { readonly value: null; readonly reason: string };

/** A statistic of the participants listed (0-based, repeats allowed); NaN where it has no value. */
export type ClusterStatistic = (participants: Int32Array) => number;

/** Variants and sources, for the report. */
export const bootstrapMethods = {
  percentile: 'cluster bootstrap by participant, percentile interval (Efron & Tibshirani 1993, ch. 13)',
  bca: 'cluster bootstrap by participant, bias-corrected and accelerated, acceleration by the jackknife over participants (Efron, J Am Stat Assoc 1987;82:171)',
  expandedPercentile:
    'percentile interval expanded for few participants, tail shares Phi(-sqrt(n / (n - 1)) t) with the t quantile for n - 1 df (Hesterberg, Am Stat 2015;69:371)',
  expandedBca: 'BCa with the same wider tail shares',
} as const;

/** Resamples `participants` participants. Intervals need two, and a statistic with a value on the whole sample. */
export function clusterBootstrap(
  participants: number,
  statistic: ClusterStatistic,
  settings: BootstrapSettings = defaultBootstrapSettings,
): BootstrapResult {
  return clusterBootstraps(participants, picked => picked, { only: statistic }, settings).only;
}

/** Several statistics on the same draws; what they are computed from (`summary`) is worked out once for each draw. */
export function clusterBootstraps<S, K extends string>(
  participants: number,
  summary: (participants: Int32Array) => S,
  statistics: Readonly<Record<K, (summary: S) => number>>,
  settings: BootstrapSettings = defaultBootstrapSettings,
): Record<K, BootstrapResult> {
  if (!(settings.draws >= 100 && settings.level > 0 && settings.level < 1)) {
    throw new RangeError('a bootstrap needs at least 100 draws and a level between 0 and 1');
  }
  const names = Object.keys(statistics) as K[];
  let drawn: Float64Array[] | undefined;
  const drawsOf = (i: number) => {
    drawn ??= resample(participants, summary, Object.values(statistics), settings);
    return drawn[i]!;
  };
  return Object.fromEntries(
    names.map((name, i) => {
      const statistic: ClusterStatistic = picked => statistics[name](summary(picked));
      return [name, resultOf(participants, statistic, () => drawsOf(i), settings)];
    }),
  ) as Record<K, BootstrapResult>;
}

function resultOf(
  participants: number,
  statistic: ClusterStatistic,
  draws: () => Float64Array,
  settings: BootstrapSettings,
): BootstrapResult {
  if (participants === 0) return notComputable('no participant');
  const value = statistic(Int32Array.from({ length: participants }, (_, i) => i));
  if (!Number.isFinite(value)) return notComputable('the statistic has no value on these participants');
  if (participants === 1)
    return withoutIntervals({ value, n: 1, ...settings, undefinedDraws: 0 }, 'needs two participants');
  const sorted = sortFinite(draws());
  const undefinedDraws = settings.draws - sorted.length;
  const head = { value, n: participants, ...settings, undefinedDraws };
  if (sorted.length < settings.draws / 2 || sorted[0] === sorted.at(-1)) {
    const alike = sorted[0] === sorted.at(-1);
    return withoutIntervals(head, alike ? 'every resample gives the same value' : 'most resamples have no value');
  }
  const z = normalQuantile(0.5 + settings.level / 2);
  const wide = Math.sqrt(participants / (participants - 1)) * tQuantile(0.5 + settings.level / 2, participants - 1);
  const bias = biasCorrection(sorted, value);
  const a = acceleration(participants, statistic);
  return {
    ...head,
    percentile: cut(sorted, normalCdf(-z), normalCdf(z)),
    expandedPercentile: cut(sorted, normalCdf(-wide), normalCdf(wide)),
    bca: bcaInterval(sorted, bias, a, z),
    expandedBca: bcaInterval(sorted, bias, a, wide),
  };
}

type Head = Omit<BootstrapIntervals, 'percentile' | 'expandedPercentile' | 'bca' | 'expandedBca' | 'intervalReason'>;

function withoutIntervals(head: Head, intervalReason: string): BootstrapIntervals {
  return { ...head, percentile: null, expandedPercentile: null, bca: null, expandedBca: null, intervalReason };
}

/** The finite values of each statistic, in the order of the draws. */
function resample<S>(
  participants: number,
  summary: (participants: Int32Array) => S,
  statistics: readonly ((summary: S) => number)[],
  { draws, seed }: BootstrapSettings,
): Float64Array[] {
  const picks = picksOf(participants, draws, seed);
  const picked = new Int32Array(participants);
  const results = statistics.map(() => new Float64Array(draws));
  const sizes = new Int32Array(statistics.length);
  for (let draw = 0; draw < draws; draw++) {
    copyDraw(picks, draw, picked);
    const drawn = summary(picked);
    for (let s = 0; s < statistics.length; s++) {
      const value = statistics[s]!(drawn);
      if (Number.isFinite(value)) results[s]![sizes[s]!++] = value;
    }
  }
  return results.map((values, s) => values.subarray(0, sizes[s]));
}

let lastPicks = { key: '', picks: new Int32Array(0) };

/** The participants of draw after draw. Kept from one call to the next: a study's statistics all rest on the same draws. */
export function picksOf(participants: number, draws: number, seed: number): Int32Array {
  const key = [participants, draws, seed].join();
  if (lastPicks.key === key) return lastPicks.picks;
  const random = randomFromNumber(seed);
  const picks = Int32Array.from({ length: draws * participants }, () => random.integer(participants));
  lastPicks = { key, picks };
  return picks;
}

/** The participants of one draw, into the same array every time: thousands of views are dear. */
export function copyDraw(picks: Int32Array, draw: number, into: Int32Array): void {
  const from = draw * into.length;
  for (let i = 0; i < into.length; i++) into[i] = picks[from + i]!;
}

const cut = (sorted: Float64Array, low: number, high: number): Interval => [
  sortedQuantile(sorted, low),
  sortedQuantile(sorted, high),
];

/**
 * Normal quantile of the share of draws below the value; draws equal to it count half. Draws of every participant once
 * add up to the value in another order, so equal means but for rounding: else the interval would hang on the last digit.
 */
function biasCorrection(sorted: Float64Array, value: number): number {
  const rounding = 1e-9 * (sorted.at(-1)! - sorted[0]!);
  let below = 0;
  for (const draw of sorted) below += draw < value - rounding ? 1 : draw <= value + rounding ? 0.5 : 0;
  const share = below / sorted.length;
  const edge = 0.5 / sorted.length;
  return normalQuantile(Math.min(1 - edge, Math.max(edge, share)));
}

/** The statistic without each participant in turn. */
export function withoutEach(participants: number, statistic: ClusterStatistic): number[] {
  const others = new Int32Array(participants - 1);
  return Array.from({ length: participants }, (_, left) => {
    for (let i = 0; i < participants - 1; i++) others[i] = i < left ? i : i + 1;
    return statistic(others);
  });
}

function acceleration(participants: number, statistic: ClusterStatistic): number {
  const values = withoutEach(participants, statistic).filter(Number.isFinite);
  if (values.length < 2) return 0;
  const centre = mean(values);
  let squares = 0;
  let cubes = 0;
  for (const v of values) {
    squares += (centre - v) ** 2;
    cubes += (centre - v) ** 3;
  }
  return squares === 0 ? 0 : cubes / (6 * squares ** 1.5);
}

function bcaInterval(sorted: Float64Array, bias: number, a: number, z: number): Interval {
  const share = (tail: number) => {
    const shifted = bias + tail;
    const stretch = 1 - a * shifted;
    return stretch <= 0 ? (tail < 0 ? 0 : 1) : normalCdf(bias + shifted / stretch);
  };
  return cut(sorted, share(-z), share(z));
}

/** Sum of parts over sum of wholes, e.g. right intervals over (judged + lost); participants without a whole add 0. */
export function pooledRatio(parts: ArrayLike<number>, wholes: ArrayLike<number>, scale = 1): ClusterStatistic {
  return participants => {
    let part = 0;
    let whole = 0;
    for (const i of participants) {
      part += parts[i]!;
      whole += wholes[i]!;
    }
    return whole > 0 ? (scale * part) / whole : Number.NaN;
  };
}

/** Mean over the participants that have a value (others are NaN). */
export function meanOver(values: ArrayLike<number>): ClusterStatistic {
  return participants => {
    const present = withValue(values, participants);
    return present.length > 0 ? mean(present) : Number.NaN;
  };
}

/** Standard deviation (n - 1) over the participants that have a value (others are NaN). */
export function sdOver(values: ArrayLike<number>): ClusterStatistic {
  return participants => {
    const present = withValue(values, participants);
    return present.length > 1 ? standardDeviation(present) : Number.NaN;
  };
}

function withValue(values: ArrayLike<number>, participants: Int32Array): number[] {
  const out: number[] = [];
  for (const i of participants) if (!Number.isNaN(values[i]!)) out.push(values[i]!);
  return out;
}

/** Difference of two statistics on the same participants: pairs stay together. */
export function pairedDifference(first: ClusterStatistic, second: ClusterStatistic): ClusterStatistic {
  return participants => first(participants) - second(participants);
}
