import { joined, mean, quantiles, rangeOf } from '../moments';
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
  const valuesOf = (draws: Draws, room: Room) =>
    room(names.length, countOf(draws)).map((values, s) => valuesOverDraws(draws, statistics[names[s]!], values));
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
  const valuesOf = (draws: Draws, room: Room) =>
    sumsOverDraws(draws, parts, all, room(names.length, countOf(draws)), prepare);
  return bootstraps(parts.length, names, valuesOf, settings);
}

type ValuesOf = (draws: Draws, room: Room) => Float64Array[];
type Prepare = (sums: Float64Array, size: number, draws: number) => void;

function bootstraps<K extends string>(
  participants: number,
  names: readonly K[],
  valuesOf: ValuesOf,
  settings: BootstrapSettings,
): Record<K, BootstrapResult> {
  if (!(settings.draws >= 100 && settings.level > 0 && settings.level < 1)) {
    throw new RangeError('a bootstrap needs at least 100 draws and a level between 0 and 1');
  }
  const each = (compute: (s: number) => BootstrapResult) =>
    Object.fromEntries(names.map((name, s) => [name, compute(s)])) as Record<K, BootstrapResult>;
  if (participants === 0) return each(() => notComputable('no participant'));
  const values = valuesOf({ participants, times: new Uint16Array(participants).fill(1) }, ownRoom).map(v => v[0]!);
  const isKnown = values.map(Number.isFinite);
  const isDrawn = participants > 1 && isKnown.includes(true);
  const draws = isDrawn ? resamples(participants, settings) : noDraws;
  const without = valuesOf({ participants, times: isDrawn ? withoutEachInTurn(participants) : noTimes }, ownRoom);
  const drawn = valuesOf(draws, keptRoom);
  return each(s => {
    const value = values[s]!;
    if (!isKnown[s]) return notComputable('the statistic has no value on these participants');
    if (participants === 1)
      return withoutIntervals({ value, n: 1, ...settings, undefinedDraws: 0 }, 'needs two participants');
    return intervalsOf(value, participants, eachDraw(drawn[s]!, draws.repeats), without[s]!, settings);
  });
}

/** From the values of the draws that have one, and those without each participant in turn. */
function intervalsOf(
  value: number,
  participants: number,
  drawn: Float64Array,
  without: Float64Array,
  settings: BootstrapSettings,
): BootstrapIntervals {
  const undefinedDraws = settings.draws - drawn.length;
  const head = { value, n: participants, ...settings, undefinedDraws };
  const { low, high } = rangeOf(drawn);
  const alike = drawn.length === 0 || low === high;
  if (drawn.length < settings.draws / 2 || alike)
    return withoutIntervals(head, alike ? 'every resample gives the same value' : 'most resamples have no value');
  const z = normalQuantile(0.5 + settings.level / 2);
  const wide = Math.sqrt(participants / (participants - 1)) * knownT(0.5 + settings.level / 2, participants - 1);
  const bias = biasCorrection(drawn, value, 1e-9 * (high - low));
  const a = acceleration(without);
  const shares = [...[-z, z, -wide, wide].map(normalCdf), ...[-z, z, -wide, wide].map(tail => bcaShare(bias, a, tail))];
  const at = quantiles(drawn, shares, { low, high });
  return {
    ...head,
    percentile: [at[0]!, at[1]!],
    expandedPercentile: [at[2]!, at[3]!],
    bca: [at[4]!, at[5]!],
    expandedBca: [at[6]!, at[7]!],
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

/** Draws that all differ; `repeats` says how often each of them was drawn. */
export interface Resamples extends Draws {
  readonly repeats: Int32Array;
}

const noTimes = new Uint16Array(0);
const noDraws: Resamples = { participants: 1, times: noTimes, repeats: new Int32Array(0) };

/** Draws without each participant in turn. */
function withoutEachInTurn(participants: number): Uint16Array {
  const times = new Uint16Array(participants * participants).fill(1);
  for (let left = 0; left < participants; left++) times[left * participants + left] = 0;
  return times;
}

let list = new Float64Array(0);

/** The finite values, each as often as it was drawn; they hold until they are asked for again. */
function eachDraw(values: Float64Array, repeats: Int32Array): Float64Array {
  const most = repeats.reduce((sum, times) => sum + times, 0);
  if (list.length < most) list = new Float64Array(most);
  let n = 0;
  for (let i = 0; i < values.length; i++) {
    const value = values[i]!;
    if (Number.isFinite(value)) for (let left = repeats[i]!; left > 0; left--) list[n++] = value;
  }
  return list.subarray(0, n);
}

const countOf = ({ participants, times }: Draws) => times.length / participants;

/** Where values go: some lists of one length. */
type Room = (lists: number, length: number) => Float64Array[];

const ownRoom: Room = (lists, length) => Array.from({ length: lists }, () => new Float64Array(length));

let kept = new Float64Array(0);

/** The same room for one bootstrap after the other: memory that was never touched is dearer than what is written to it. */
const keptRoom: Room = (lists, length) => {
  if (kept.length < lists * length) kept = new Float64Array(lists * length);
  return Array.from({ length: lists }, (_, i) => kept.subarray(i * length, (i + 1) * length));
};

function valuesOverDraws(
  { participants, times }: Draws,
  statistic: ClusterStatistic,
  values: Float64Array,
): Float64Array {
  const own = new Int32Array(participants);
  for (let draw = 0; draw < values.length; draw++) {
    copyDraw(times, draw, own);
    values[draw] = statistic(own);
  }
  return values;
}

/** How many of the first participants a draw has as often as the draw before it; 0 of the first draw. */
function sharedWithLast(times: Uint16Array, first: number, participants: number): number {
  if (first === 0) return 0;
  let i = 0;
  while (i < participants && times[first + i] === times[first - participants + i]) i++;
  return i;
}

/** Room for the sums of some draws: what fits is summed before the statistics go over it. */
const roomLength = 16_384;
let room = new Float64Array(0);

/** The values of each statistic, draw by draw, into `results`. */
function sumsOverDraws(
  { participants, times }: Draws,
  parts: readonly Float64Array[],
  statistics: readonly SumStatistic[],
  results: Float64Array[],
  prepare: Prepare,
): Float64Array[] {
  const draws = times.length / participants;
  const size = parts[0]!.length;
  const block = Math.max(1, Math.floor(roomLength / size));
  if (room.length < block * size) room = new Float64Array(Math.max(roomLength, size));
  const joinedParts = joined(parts);
  const stairs = new Float64Array(joinedParts.length);
  for (let from = 0; from < draws; from += block) {
    const count = Math.min(block, draws - from);
    addDraws(times.subarray(from * participants, (from + count) * participants), joinedParts, size, room, stairs);
    prepare(room, size, count);
    for (const [s, statistic] of statistics.entries()) statistic(room, size, results[s]!.subarray(from, from + count));
  }
  return results;
}

/**
 * Sums of the parts, each as often as it was drawn, one draw after the other into `sums`. A draw goes on from the sums of
 * those first participants that the draw before it has as often; `stairs` has room for the sums up to each participant.
 * The last participant of a draw gets no stair and needs none: draws of one size that are alike up to it are the same draw,
 * and these here differ. Who was not drawn is passed over: there may be no number of theirs.
 */
function addDraws(times: Uint16Array, parts: Float64Array, size: number, sums: Float64Array, stairs: Float64Array) {
  const participants = parts.length / size;
  for (let at = 0, first = 0; first < times.length; at += size, first += participants) {
    let last = participants - 1;
    while (last >= 0 && times[first + last] === 0) last--;
    let i = sharedWithLast(times, first, participants);
    let below = i - 1;
    while (below >= 0 && times[first + below] === 0) below--;
    for (; i < last; i++) {
      const drawn = times[first + i]!;
      if (drawn === 0) continue;
      if (below < 0) scale(parts, i * size, drawn, size, stairs, i * size);
      else addTo(stairs, below * size, parts, i * size, drawn, size, stairs, i * size);
      below = i;
    }
    if (last < 0) sums.fill(0, at, at + size);
    else if (below < 0) scale(parts, last * size, times[first + last]!, size, sums, at);
    else addTo(stairs, below * size, parts, last * size, times[first + last]!, size, sums, at);
  }
}

function scale(parts: Float64Array, at: number, drawn: number, size: number, into: Float64Array, to: number): void {
  for (let k = 0; k < size; k++) into[to + k] = drawn * parts[at + k]!;
}

/** The sums at `below` and the parts at `at`, as often as drawn, make the sums at `to`. */
function addTo(
  sums: Float64Array,
  below: number,
  parts: Float64Array,
  at: number,
  drawn: number,
  size: number,
  into: Float64Array,
  to: number,
): void {
  for (let k = 0; k < size; k++) into[to + k] = sums[below + k]! + drawn * parts[at + k]!;
}

/** The whole sample. */
export function once(participants: number): Times {
  return new Int32Array(participants).fill(1);
}

/** A study's plans take some twenty. */
const mostKnown = 40;
const knownDraws = new Map<string, Uint16Array>();
const knownResamples = new Map<string, Resamples>();

function known<T>(all: Map<string, T>, key: string, make: () => T): T {
  const value = all.get(key) ?? make();
  if (all.size === mostKnown && !all.has(key)) all.delete(all.keys().next().value!);
  all.set(key, value);
  return value;
}

/**
 * Of draw after draw of `size` from the participants, how often it has each of them. Kept from one call to the next: a
 * study's statistics all rest on the same draws.
 */
export function resampledCounts(participants: number, size: number, draws: number, seed: number): Uint16Array {
  return known(knownDraws, [participants, size, draws, seed].join(), () => {
    const random = randomFromNumber(seed);
    const all = new Uint16Array(draws * participants);
    for (let from = 0; from < all.length; from += participants) random.tally(participants, size, all, from);
    return all;
  });
}

/**
 * The bootstrap's draws, each of as many as there are participants, in an order in which neighbours share the first
 * participants: what is made of all draws together does not hang on theirs.
 */
export function resamples(participants: number, { draws, seed }: Pick<BootstrapSettings, 'draws' | 'seed'>): Resamples {
  return known(knownResamples, [participants, draws, seed].join(), () =>
    differing(inOrder(resampledCounts(participants, participants, draws, seed), participants), participants),
  );
}

/** By how often the first has been drawn, then the second, as far as a number can tell. */
function inOrder(times: Uint16Array, participants: number): Uint16Array {
  const draws = times.length / participants;
  const keys = new Float64Array(draws);
  const told = Math.min(
    participants,
    Math.floor(Math.log(Number.MAX_SAFE_INTEGER / draws) / Math.log(participants + 1)),
  );
  for (let draw = 0; draw < draws; draw++) {
    let key = 0;
    for (let i = 0; i < told; i++) key = key * (participants + 1) + times[draw * participants + i]!;
    keys[draw] = key * draws + draw;
  }
  const sorted = new Uint16Array(times.length);
  for (const [to, key] of keys.sort().entries()) {
    const from = (key % draws) * participants;
    sorted.set(times.subarray(from, from + participants), to * participants);
  }
  return sorted;
}

/** Each draw once that is the same as its neighbours. */
function differing(sorted: Uint16Array, participants: number): Resamples {
  const times = new Uint16Array(sorted.length);
  const repeats = new Int32Array(sorted.length / participants);
  let count = 0;
  for (let first = 0; first < sorted.length; first += participants) {
    if (sharedWithLast(sorted, first, participants) < participants)
      times.set(sorted.subarray(first, first + participants), participants * count++);
    repeats[count - 1]!++;
  }
  return { participants, times: times.slice(0, participants * count), repeats: repeats.slice(0, count) };
}

/** One draw, into the same array every time: thousands of views are dear. */
export function copyDraw(all: Uint16Array, draw: number, into: Times): void {
  const from = draw * into.length;
  for (let i = 0; i < into.length; i++) into[i] = all[from + i]!;
}

/**
 * Normal quantile of the share of draws below the value; draws equal to it count half. Draws of every participant once
 * add up to the value in another order, so equal means but for rounding: else the interval would hang on the last digit.
 */
function biasCorrection(drawn: Float64Array, value: number, rounding: number): number {
  let below = 0;
  let equal = 0;
  for (let i = 0; i < drawn.length; i++) {
    if (drawn[i]! < value - rounding) below++;
    else if (drawn[i]! <= value + rounding) equal++;
  }
  const share = (below + 0.5 * equal) / drawn.length;
  const edge = 0.5 / drawn.length;
  return normalQuantile(Math.min(1 - edge, Math.max(edge, share)));
}

/** The statistic without each participant in turn. */
export function withoutEach(participants: number, statistic: ClusterStatistic): Float64Array {
  const times = withoutEachInTurn(participants);
  return valuesOverDraws({ participants, times }, statistic, new Float64Array(participants));
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

/** The share of draws below an end of the BCa interval whose normal quantile without bias and acceleration is `tail`. */
function bcaShare(bias: number, a: number, tail: number): number {
  const shifted = bias + tail;
  const stretch = 1 - a * shifted;
  return stretch <= 0 ? (tail < 0 ? 0 : 1) : normalCdf(bias + shifted / stretch);
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
