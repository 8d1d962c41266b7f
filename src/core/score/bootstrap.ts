import { joined, mean, sortedQuantile, sortFinite } from '../moments';
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

/**
 * A statistic of sums over participants, for as many draws as `out` holds; NaN where it has no value. The sums of each draw
 * are `size` numbers, one draw after the other. It goes over the draws itself, for a function that returns one fraction
 * after another makes as many objects.
 */
export type SumStatistic = (sums: Float64Array, size: number, out: Float64Array) => void;

/** One of the sums to another, by their places among those of a draw. */
export function ratioOfSums(above: number, below: number, scale = 1): SumStatistic {
  return (sums, size, out) => {
    for (let i = 0, at = 0; i < out.length; i++, at += size) out[i] = (scale * sums[at + above]!) / sums[at + below]!;
  };
}

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
  return clusterBootstraps(participants, { only: statistic }, settings).only;
}

/** Several statistics on the same draws. */
export function clusterBootstraps<K extends string>(
  participants: number,
  statistics: Readonly<Record<K, ClusterStatistic>>,
  settings: BootstrapSettings = defaultBootstrapSettings,
): Record<K, BootstrapResult> {
  const names = Object.keys(statistics) as K[];
  const valuesOf = (draws: Draws) => names.map(name => valuesOverDraws(draws, statistics[name]));
  return bootstraps(participants, names, valuesOf, settings);
}

/**
 * Several statistics of sums over the participants, whose own summands are `parts`, all of one length: a draw adds them up
 * once for all statistics. `prepare` may turn the sums of a number of draws into others in their place.
 */
export function sumBootstraps<K extends string>(
  parts: readonly Float64Array[],
  statistics: Readonly<Record<K, SumStatistic>>,
  settings: BootstrapSettings = defaultBootstrapSettings,
  prepare: Prepare = () => undefined,
): Record<K, BootstrapResult> {
  const names = Object.keys(statistics) as K[];
  const all = names.map(name => statistics[name]);
  return bootstraps(parts.length, names, draws => sumsOverDraws(draws, parts, all, prepare), settings);
}

type Prepare = (sums: Float64Array, size: number, draws: number) => void;

function bootstraps<K extends string>(
  participants: number,
  names: readonly K[],
  valuesOf: (draws: Draws) => Float64Array[],
  settings: BootstrapSettings,
): Record<K, BootstrapResult> {
  if (!(settings.draws >= 100 && settings.level > 0 && settings.level < 1)) {
    throw new RangeError('a bootstrap needs at least 100 draws and a level between 0 and 1');
  }
  const each = (compute: (s: number) => BootstrapResult) =>
    Object.fromEntries(names.map((name, s) => [name, compute(s)])) as Record<K, BootstrapResult>;
  if (participants === 0) return each(() => notComputable('no participant'));
  const values = valuesOf({ participants, times: new Uint16Array(participants).fill(1) }).map(v => v[0]!);
  const isKnown = values.map(Number.isFinite);
  const isDrawn = participants > 1 && isKnown.includes(true);
  const times = isDrawn ? drawsOf(participants, participants, settings.draws, settings.seed) : noDraws;
  const drawn = valuesOf({ participants, times }).map(finiteOf);
  const without = valuesOf({ participants, times: isDrawn ? withoutEachInTurn(participants) : noDraws });
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

/** Draw after draw: how often each of the participants counts. */
interface Draws {
  readonly participants: number;
  readonly times: Uint16Array;
}

const noDraws = new Uint16Array(0);

/** Draws without each participant in turn. */
function withoutEachInTurn(participants: number): Uint16Array {
  const times = new Uint16Array(participants * participants).fill(1);
  for (let left = 0; left < participants; left++) times[left * participants + left] = 0;
  return times;
}

/** The finite values, in their order. */
function finiteOf(values: Float64Array): Float64Array {
  const finite = new Float64Array(values.length);
  let n = 0;
  for (let i = 0; i < values.length; i++) if (Number.isFinite(values[i]!)) finite[n++] = values[i]!;
  return finite.subarray(0, n);
}

function valuesOverDraws({ participants, times }: Draws, statistic: ClusterStatistic): Float64Array {
  const values = new Float64Array(times.length / participants);
  const own = new Int32Array(participants);
  for (let draw = 0; draw < values.length; draw++) {
    copyDraw(times, draw, own);
    values[draw] = statistic(own);
  }
  return values;
}

/** Room for the sums of some draws: what fits is summed before the statistics go over it. */
const roomLength = 16_384;
let room = new Float64Array(0);

/** The values of each statistic, draw by draw. */
function sumsOverDraws(
  { participants, times }: Draws,
  parts: readonly Float64Array[],
  statistics: readonly SumStatistic[],
  prepare: Prepare,
): Float64Array[] {
  const draws = times.length / participants;
  const results = statistics.map(() => new Float64Array(draws));
  const size = parts[0]!.length;
  const block = Math.max(1, Math.floor(roomLength / size));
  if (room.length < block * size) room = new Float64Array(Math.max(roomLength, size));
  const joinedParts = joined(parts);
  for (let from = 0; from < draws; from += block) {
    const count = Math.min(block, draws - from);
    addDraws(times.subarray(from * participants, (from + count) * participants), joinedParts, size, room);
    prepare(room, size, count);
    for (const [s, statistic] of statistics.entries()) statistic(room, size, results[s]!.subarray(from, from + count));
  }
  return results;
}

/** Sums of the parts, each as often as it was drawn, one draw after the other into `sums`. */
function addDraws(times: Uint16Array, parts: Float64Array, size: number, sums: Float64Array): void {
  const participants = parts.length / size;
  for (let at = 0, first = 0; first < times.length; at += size, first += participants) {
    let isEmpty = true;
    for (let i = nextDrawn(times, first, first + participants); i < first + participants; ) {
      const j = nextDrawn(times, i + 1, first + participants);
      const a = times[i]!;
      const ofA = (i - first) * size;
      // Two at a time halve the passes; the order of the summands stays.
      if (j < first + participants) {
        const b = times[j]!;
        const ofB = (j - first) * size;
        if (isEmpty) for (let k = 0; k < size; k++) sums[at + k] = a * parts[ofA + k]! + b * parts[ofB + k]!;
        else for (let k = 0; k < size; k++) sums[at + k] = sums[at + k]! + a * parts[ofA + k]! + b * parts[ofB + k]!;
        i = nextDrawn(times, j + 1, first + participants);
      } else {
        if (isEmpty) for (let k = 0; k < size; k++) sums[at + k] = a * parts[ofA + k]!;
        else for (let k = 0; k < size; k++) sums[at + k] = sums[at + k]! + a * parts[ofA + k]!;
        i = j;
      }
      isEmpty = false;
    }
    if (isEmpty) sums.fill(0, at, at + size);
  }
}

/** The first from `i` on that was drawn at all: what nobody drew may have no number. */
function nextDrawn(times: Uint16Array, i: number, end: number): number {
  let next = i;
  while (next < end && times[next] === 0) next++;
  return next;
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
  return valuesOverDraws({ participants, times: withoutEachInTurn(participants) }, statistic);
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
