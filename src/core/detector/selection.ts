/**
 * The value that sorting would put at k, by Hoare's selection; reorders `values[from..n)`. What lies before `from` is known
 * to be no greater.
 */
export function selected(values: Float32Array, n: number, k: number, from = 0): number {
  let lo = from;
  let hi = n - 1;
  while (lo < hi) {
    const pivot = values[k]!;
    let i = lo;
    let j = hi;
    while (i <= j) {
      while (values[i]! < pivot) i++;
      while (values[j]! > pivot) j--;
      if (i > j) break;
      const swap = values[i]!;
      values[i++] = values[j]!;
      values[j--] = swap;
    }
    if (j < k) lo = i;
    if (k < i) hi = j;
  }
  return values[k]!;
}

const largest = new Float32Array(16);

/** The nth largest of `values[0..n)`, from 1 on, for the first few: one look at each, and they stay in their order. */
export function nthLargest(values: Float32Array, n: number, nth: number): number {
  if (nth > largest.length) throw new RangeError(`of the ${largest.length} largest at most, not the ${nth}th`);
  let least = Number.NEGATIVE_INFINITY;
  for (let i = 0, kept = 0; i < n; i++) {
    const value = values[i]!;
    if (kept < nth) {
      kept = insert(largest, kept, value);
      if (kept === nth) least = largest[0]!;
    } else if (value > least) {
      let p = 1;
      for (; p < nth && largest[p]! < value; p++) largest[p - 1] = largest[p]!;
      largest[p - 1] = value;
      least = largest[0]!;
    }
  }
  return least;
}

export function insertionSort(values: Float32Array, n: number): void {
  for (let i = 1; i < n; ) i = insert(values, i, values[i]!);
}

const near = new Float32Array(64);
/** Up to so many values are sorted faster than one of them is selected. */
const fewToSort = 11;

/** Median of `values[k - reach .. k + reach]`, clipped to the array; `reach` up to 31. */
export function medianAround(values: Float32Array, k: number, reach: number): number {
  const from = Math.max(0, k - reach);
  const n = Math.min(values.length, k + reach + 1) - from;
  for (let i = 0; i < n; i++) near[i] = values[from + i]!;
  if (n <= fewToSort) {
    insertionSort(near, n);
    const low = (n - 1) >> 1;
    return n % 2 === 1 ? near[low]! : near[low]! + 0.5 * (near[low + 1]! - near[low]!);
  }
  const middle = selected(near, n, n >> 1);
  if (n % 2 === 1) return middle;
  let below = near[0]!;
  for (let i = 1; i < n >> 1; i++) if (near[i]! > below) below = near[i]!;
  return below + 0.5 * (middle - below);
}

/** `medianAround` of every place of `values`. */
export function mediansAround(values: Float32Array, reach: number): Float32Array {
  const out = new Float32Array(values.length);
  const sorted = near;
  let n = 0;
  for (let i = 0; i < Math.min(reach, values.length); i++) n = insert(sorted, n, values[i]!);
  for (let k = 0; k < values.length; k++) {
    if (k + reach < values.length) n = insert(sorted, n, values[k + reach]!);
    if (k > reach) n = remove(sorted, n, values[k - reach - 1]!);
    const low = (n - 1) >> 1;
    out[k] = n % 2 === 1 ? sorted[low]! : sorted[low]! + 0.5 * (sorted[low + 1]! - sorted[low]!);
  }
  return out;
}

/** Puts a value among `n` sorted ones; how many there are then. */
function insert(sorted: Float32Array, n: number, value: number): number {
  let p = n;
  for (; p > 0 && sorted[p - 1]! > value; p--) sorted[p] = sorted[p - 1]!;
  sorted[p] = value;
  return n + 1;
}

/** Takes a value that is there from among `n` sorted ones. */
function remove(sorted: Float32Array, n: number, value: number): number {
  let p = 0;
  while (sorted[p]! < value) p++;
  for (; p + 1 < n; p++) sorted[p] = sorted[p + 1]!;
  return n - 1;
}
