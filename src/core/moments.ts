/** Sums over plain lists of numbers. All need at least the stated count and throw a RangeError below it. */

export function mean(values: ArrayLike<number>): number {
  if (values.length === 0) throw new RangeError('mean of nothing');
  return (values instanceof Float64Array ? sumOfFloats(values) : sumOf(values)) / values.length;
}

function sumOf(values: ArrayLike<number>): number {
  let sum = 0;
  for (let i = 0; i < values.length; i++) sum += values[i]!;
  return sum;
}

/** A loop that meets one kind of list only is several times as fast as one that meets them all. */
function sumOfFloats(values: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < values.length; i++) sum += values[i]!;
  return sum;
}

/** Sum of squared deviations from the mean. */
export function sumOfSquares(values: ArrayLike<number>): number {
  const centre = mean(values);
  return values instanceof Float64Array ? squaresOfFloats(values, centre) : squaresOf(values, centre);
}

function squaresOf(values: ArrayLike<number>, centre: number): number {
  let sum = 0;
  for (let i = 0; i < values.length; i++) {
    const off = values[i]! - centre;
    sum += off * off;
  }
  return sum;
}

function squaresOfFloats(values: Float64Array, centre: number): number {
  let sum = 0;
  for (let i = 0; i < values.length; i++) {
    const off = values[i]! - centre;
    sum += off * off;
  }
  return sum;
}

/** Sample variance, divisor n - 1; needs two values. */
export function variance(values: ArrayLike<number>): number {
  if (values.length < 2) throw new RangeError('variance needs two values');
  return sumOfSquares(values) / (values.length - 1);
}

/** Sample standard deviation, divisor n - 1; needs two values. */
export function standardDeviation(values: ArrayLike<number>): number {
  return Math.sqrt(variance(values));
}

/**
 * Quantile of a sorted list, or of its first `n` values, linear between order statistics (type 7 of Hyndman & Fan, Am Stat
 * 1996;50:361).
 */
export function sortedQuantile(sorted: ArrayLike<number>, p: number, n = sorted.length): number {
  if (n === 0 || !(p >= 0 && p <= 1)) throw new RangeError(`quantile ${p} of ${n} values`);
  const at = p * (n - 1);
  const low = Math.floor(at);
  const first = sorted[low]!;
  return low + 1 < n ? first + (at - low) * (sorted[low + 1]! - first) : first;
}

/** Median; the mean of the middle two of an even number. Leaves its input alone. */
export function median(values: ArrayLike<number>): number {
  const own = new Float64Array(values);
  const n = own.length;
  if (n < fewToSort || hasNaN(own)) return sortedQuantile(own.sort(), 0.5);
  const upper = select(own, n >> 1);
  if (n % 2 === 1) return upper;
  let lower = Number.NEGATIVE_INFINITY;
  for (let i = 0; i < n >> 1; i++) if (own[i]! > lower) lower = own[i]!;
  return lower + 0.5 * (upper - lower);
}

function hasNaN(values: Float64Array): boolean {
  for (let i = 0; i < values.length; i++) if (Number.isNaN(values[i])) return true;
  return false;
}

/** Median of the absolute values. */
export function medianSize(values: Float64Array): number {
  const sizes = new Float64Array(values.length);
  for (let i = 0; i < sizes.length; i++) sizes[i] = Math.abs(values[i]!);
  return median(sizes);
}

/** So few are sorted at once. */
const fewToSort = 32;

/** The value that would stand at `k` if all were sorted; smaller ones are before it afterwards (Hoare's selection). */
function select(values: Float64Array, k: number): number {
  let from = 0;
  let to = values.length - 1;
  while (from < to) {
    const [a, b, c] = [values[from]!, values[(from + to) >> 1]!, values[to]!];
    const pivot = Math.max(Math.min(a, b), Math.min(Math.max(a, b), c));
    let i = from;
    let j = to;
    while (i <= j) {
      while (values[i]! < pivot) i++;
      while (values[j]! > pivot) j--;
      if (i > j) break;
      const swapped = values[i]!;
      values[i++] = values[j]!;
      values[j--] = swapped;
    }
    if (k <= j) to = j;
    else if (k >= i) from = i;
    else break;
  }
  return values[k]!;
}

/** So many values in one share of their range, on average. */
const valuesInShare = 4;

/**
 * Quantiles (as of `sortedQuantile`) of finite values, which need not be sorted: each goes to its share of the range, and
 * only the shares in which a quantile lies are sorted. `range` of the values, where it is known.
 */
export function quantiles(
  values: Float64Array,
  ps: readonly number[],
  range: { readonly low: number; readonly high: number } = rangeOf(values),
): number[] {
  const n = values.length;
  const shares = Math.max(1, Math.floor(n / valuesInShare));
  const scale = (shares - 1) / (range.high - range.low);
  if (n < fewToSort || !Number.isFinite(scale)) return sortedQuantiles(values.slice().sort(), ps);
  const { spread, starts } = spreadOver(values, range.low, scale, shares);
  for (const p of ps) {
    const at = Math.floor(p * (n - 1));
    sortShareOf(spread, starts, at);
    if (at + 1 < n) sortShareOf(spread, starts, at + 1);
  }
  return sortedQuantiles(spread, ps);
}

const sortedQuantiles = (sorted: Float64Array, ps: readonly number[]) => ps.map(p => sortedQuantile(sorted, p));

/** Kept from list to list: a report takes quantiles of thousands. */
let room = { spread: new Float64Array(0), starts: new Int32Array(0) };

/** The values share by share, and where each share starts. */
function spreadOver(values: Float64Array, low: number, scale: number, shares: number): typeof room {
  const n = values.length;
  if (room.spread.length < n) room = { spread: new Float64Array(n), starts: new Int32Array(n) };
  const spread = room.spread.subarray(0, n);
  const starts = room.starts.subarray(0, shares);
  starts.fill(0);
  for (let i = 0; i < n; i++) starts[((values[i]! - low) * scale) | 0]!++;
  for (let k = 1; k < shares; k++) starts[k]! += starts[k - 1]!;
  // So far they are the ends: each share is filled from there.
  for (let i = 0; i < n; i++) spread[--starts[((values[i]! - low) * scale) | 0]!] = values[i]!;
  return { spread, starts };
}

/** Sorts those values that lie in one share with the `at`-th. */
function sortShareOf(spread: Float64Array, starts: Int32Array, at: number): void {
  let [low, high] = [0, starts.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (starts[middle]! <= at) low = middle + 1;
    else high = middle;
  }
  const from = starts[low - 1]!;
  const to = low < starts.length ? starts[low]! : spread.length;
  if (to - from > fewToSort) spread.subarray(from, to).sort();
  else sortRun(spread, from, to);
}

/** Least and greatest of them; Infinity and -Infinity of none. */
export function rangeOf(values: Float32Array | Float64Array): { low: number; high: number } {
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  for (let i = 0; i < values.length; i++) {
    if (values[i]! < low) low = values[i]!;
    if (values[i]! > high) high = values[i]!;
  }
  return { low, high };
}

/** Sorts a few values from one place to before another, by insertion. */
function sortRun(values: Float64Array, from: number, to: number): void {
  for (let i = from + 1; i < to; i++) {
    const value = values[i]!;
    let k = i;
    for (; k > from && values[k - 1]! > value; k--) values[k] = values[k - 1]!;
    values[k] = value;
  }
}

/** Quantiles (type 7) of a centred window that is cut at the ends, one array each; the window is kept sorted as it moves. */
export function slidingQuantiles(values: Float64Array, window: number, ps: readonly number[]): Float64Array[] {
  const half = window >> 1;
  const n = values.length;
  const quantiles = ps.map(() => new Float64Array(n));
  const sorted = new Float64Array(window + 1);
  let size = 0;
  for (; size < half && size < n; size++) enter(sorted, size, values[size]!);
  for (let i = 0; i < n; i++) {
    const isEntering = i + half < n;
    if (isEntering && i > half) exchange(sorted, size, values[i - half - 1]!, values[i + half]!);
    else if (isEntering) enter(sorted, size++, values[i + half]!);
    else if (i > half) leave(sorted, size--, values[i - half - 1]!);
    for (let k = 0; k < ps.length; k++) {
      const at = ps[k]! * (size - 1);
      const low = Math.floor(at);
      const from = sorted[low]!;
      quantiles[k]![i] = from + (at - low) * (sorted[Math.min(low + 1, size - 1)]! - from);
    }
  }
  return quantiles;
}

/** Puts a value among the `size` sorted ones. */
function enter(sorted: Float64Array, size: number, value: number): void {
  let at = size;
  for (; at > 0 && sorted[at - 1]! >= value; at--) sorted[at] = sorted[at - 1]!;
  sorted[at] = value;
}

/** Takes a value from among the `size` sorted ones. */
function leave(sorted: Float64Array, size: number, value: number): void {
  for (let at = placeOf(sorted, size, value); at + 1 < size; at++) sorted[at] = sorted[at + 1]!;
}

/** Puts `next` in the place of `old` and moves it to where it belongs among the `size` sorted values. */
function exchange(sorted: Float64Array, size: number, old: number, next: number): void {
  let at = placeOf(sorted, size, old);
  for (; at + 1 < size && sorted[at + 1]! < next; at++) sorted[at] = sorted[at + 1]!;
  for (; at > 0 && sorted[at - 1]! > next; at--) sorted[at] = sorted[at - 1]!;
  sorted[at] = next;
}

/** First of the `size` sorted values that is not below `v`. */
function placeOf(sorted: Float64Array, size: number, v: number): number {
  let lo = 0;
  let hi = size;
  while (lo < hi) {
    const mid = (lo + hi) >> 1;
    if (sorted[mid]! < v) lo = mid + 1;
    else hi = mid;
  }
  return lo;
}

/** The values of all lists, one list after the other. */
export function joined(lists: readonly Float64Array[]): Float64Array {
  return joinInto(new Float64Array(lengthOf(lists)), lists);
}

/** The same in `out`, which has room for all of them. */
export function joinInto<T extends Int32Array | Float32Array | Float64Array>(out: T, lists: readonly T[]): T {
  let at = 0;
  for (const list of lists) {
    out.set(list, at);
    at += list.length;
  }
  return out;
}

/** Values of all lists together. */
export function lengthOf(lists: readonly ArrayLike<number>[]): number {
  return lists.reduce((n, list) => n + list.length, 0);
}
