import { mean, sortedQuantile, sortFinite } from '../moments';
import { randomFromNumber } from '../random';
import { knownT, normalCdf, normalQuantile } from './distributions';
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

/**
 * How often each participant counts: in a draw as often as it was drawn, in the whole sample once. What is given holds only
 * until the next draw.
 */
export type Times = Int32Array;

/** A statistic of participants; NaN where it has no value. */
export type ClusterStatistic = (times: Times) => number;

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
  return clusterBootstraps(participants, times => times, { only: statistic }, settings).only;
}

/** Several statistics on the same draws; what they are computed from (`summary`) is worked out once for each draw. */
export function clusterBootstraps<S, K extends string>(
  participants: number,
  summary: (times: Times) => S,
  statistics: Readonly<Record<K, (summary: S) => number>>,
  settings: BootstrapSettings = defaultBootstrapSettings,
): Record<K, BootstrapResult> {
  if (!(settings.draws >= 100 && settings.level > 0 && settings.level < 1)) {
    throw new RangeError('a bootstrap needs at least 100 draws and a level between 0 and 1');
  }
  const names = Object.keys(statistics) as K[];
  const all = names.map(name => statistics[name]);
  const each = (compute: (s: number) => BootstrapResult) =>
    Object.fromEntries(names.map((name, s) => [name, compute(s)])) as Record<K, BootstrapResult>;
  if (participants === 0) return each(() => notComputable('no participant'));
  const whole = summary(once(participants));
  const values = all.map(statistic => statistic(whole));
  const isKnown = values.map(Number.isFinite);
  const isDrawn = participants > 1 && isKnown.includes(true);
  const drawn = isDrawn ? resample(participants, summary, all, settings) : [];
  const without = isDrawn ? withoutEachOf(participants, summary, all) : [];
  return each(s => {
    const value = values[s]!;
    if (!isKnown[s]) return notComputable('the statistic has no value on these participants');
    if (participants === 1)
      return withoutIntervals({ value, n: 1, ...settings, undefinedDraws: 0 }, 'needs two participants');
    return intervalsOf(value, participants, sortFinite(drawn[s]!), without[s]!, settings);
  });
}

/** From the sorted draws, and the values without each participant in turn. */
function intervalsOf(
  value: number,
  participants: number,
  sorted: Float64Array,
  without: Float64Array,
  settings: BootstrapSettings,
): BootstrapIntervals {
  const undefinedDraws = settings.draws - sorted.length;
  const head = { value, n: participants, ...settings, undefinedDraws };
  if (sorted.length < settings.draws / 2 || sorted[0] === sorted.at(-1)) {
    const alike = sorted[0] === sorted.at(-1);
    return withoutIntervals(head, alike ? 'every resample gives the same value' : 'most resamples have no value');
  }
  const z = normalQuantile(0.5 + settings.level / 2);
  const wide = Math.sqrt(participants / (participants - 1)) * knownT(0.5 + settings.level / 2, participants - 1);
  const bias = biasCorrection(sorted, value);
  const a = acceleration(without);
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
  summary: (times: Times) => S,
  statistics: readonly ((summary: S) => number)[],
  { draws, seed }: BootstrapSettings,
): Float64Array[] {
  const all = drawsOf(participants, participants, draws, seed);
  const times = new Int32Array(participants);
  const results = statistics.map(() => new Float64Array(draws));
  const sizes = new Int32Array(statistics.length);
  for (let draw = 0; draw < draws; draw++) {
    copyDraw(all, draw, times);
    const drawn = summary(times);
    for (let s = 0; s < statistics.length; s++) {
      const value = statistics[s]!(drawn);
      if (Number.isFinite(value)) results[s]![sizes[s]!++] = value;
    }
  }
  return results.map((values, s) => values.subarray(0, sizes[s]));
}

/** The whole sample. */
export function once(participants: number): Times {
  return new Int32Array(participants).fill(1);
}

const knownDraws = new Map<string, Uint16Array>();
/** A study's plans take some twenty. */
const mostKnown = 40;

/**
 * Of draw after draw of `size` from the participants, how often it has each of them. Kept from one call to the next: a
 * study's statistics all rest on the same draws.
 */
export function drawsOf(participants: number, size: number, draws: number, seed: number): Uint16Array {
  const key = [participants, size, draws, seed].join();
  const known = knownDraws.get(key);
  if (known) return known;
  const random = randomFromNumber(seed);
  const all = new Uint16Array(draws * participants);
  for (let from = 0; from < all.length; from += participants) random.tally(participants, size, all, from);
  if (knownDraws.size === mostKnown) knownDraws.delete(knownDraws.keys().next().value!);
  knownDraws.set(key, all);
  return all;
}

/** One draw, into the same array every time: thousands of views are dear. */
export function copyDraw(all: Uint16Array, draw: number, into: Times): void {
  const from = draw * into.length;
  for (let i = 0; i < into.length; i++) into[i] = all[from + i]!;
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
  const below = firstFrom(sorted, value - rounding, false);
  const equal = firstFrom(sorted, value + rounding, true) - below;
  const share = (below + 0.5 * equal) / sorted.length;
  const edge = 0.5 / sorted.length;
  return normalQuantile(Math.min(1 - edge, Math.max(edge, share)));
}

/** Place of the first draw that is not below a limit, or with `past` of the first above it. */
function firstFrom(sorted: Float64Array, limit: number, past: boolean): number {
  let [low, high] = [0, sorted.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (sorted[middle]! < limit || (past && sorted[middle] === limit)) low = middle + 1;
    else high = middle;
  }
  return low;
}

/** The statistic without each participant in turn. */
export function withoutEach(participants: number, statistic: ClusterStatistic): Float64Array {
  return withoutEachOf(participants, times => times, [statistic])[0]!;
}

/** Of several statistics, what they are computed from being worked out once for each that is left out. */
function withoutEachOf<S>(
  participants: number,
  summary: (times: Times) => S,
  statistics: readonly ((summary: S) => number)[],
): Float64Array[] {
  const results = statistics.map(() => new Float64Array(participants));
  const times = once(participants);
  for (let left = 0; left < participants; left++) {
    times[left] = 0;
    const others = summary(times);
    for (let s = 0; s < statistics.length; s++) results[s]![left] = statistics[s]!(others);
    times[left] = 1;
  }
  return results;
}

function acceleration(without: Float64Array): number {
  const values = without.filter(Number.isFinite);
  if (values.length < 2) return 0;
  const centre = mean(values);
  let squares = 0;
  let cubes = 0;
  for (let i = 0; i < values.length; i++) {
    const off = centre - values[i]!;
    squares += off * off;
    cubes += off * off * off;
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
  return times => {
    let part = 0;
    let whole = 0;
    for (let i = 0; i < times.length; i++) {
      part += times[i]! * parts[i]!;
      whole += times[i]! * wholes[i]!;
    }
    return whole > 0 ? (scale * part) / whole : Number.NaN;
  };
}

/** Values that are there, and which participants have them (others are NaN). */
function presentOf(all: ArrayLike<number>): { values: Float64Array; owners: Int32Array } {
  const owners = Int32Array.from({ length: all.length }, (_, i) => i).filter(i => !Number.isNaN(all[i]!));
  return { values: Float64Array.from(owners, i => all[i]!), owners };
}

/** Weighted mean, by distances from the first value: of values that are all alike it is exactly that. */
function meanOf(values: Float64Array, owners: Int32Array, times: Times): { n: number; mean: number } {
  let n = 0;
  let sum = 0;
  const origin = values[0] ?? 0;
  for (let i = 0; i < values.length; i++) {
    const weight = times[owners[i]!]!;
    n += weight;
    sum += weight * (values[i]! - origin);
  }
  return { n, mean: origin + sum / n };
}

/** Mean over the participants that have a value (others are NaN). */
export function meanOver(all: ArrayLike<number>): ClusterStatistic {
  const { values, owners } = presentOf(all);
  return times => meanOf(values, owners, times).mean;
}

/** Standard deviation (n - 1) over the participants that have a value (others are NaN). */
export function sdOver(all: ArrayLike<number>): ClusterStatistic {
  const { values, owners } = presentOf(all);
  return times => {
    const { n, mean } = meanOf(values, owners, times);
    if (n < 2) return Number.NaN;
    let squares = 0;
    for (let i = 0; i < values.length; i++) squares += times[owners[i]!]! * (values[i]! - mean) * (values[i]! - mean);
    return Math.sqrt(squares / (n - 1));
  };
}

/** Difference of two statistics on the same participants: pairs stay together. */
export function pairedDifference(first: ClusterStatistic, second: ClusterStatistic): ClusterStatistic {
  return times => first(times) - second(times);
}
