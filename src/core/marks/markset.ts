import type { SampleIndex } from '../units';

/**
 * R-peak marks as a strictly increasing typed array of sample indices. Int32 reaches 12 days at 2000 Hz, and 100,000
 * marks insert or delete in microseconds.
 */
export type Marks = Int32Array;

export const noMarks: Marks = new Int32Array(0);

/** Sorts and drops repeats. Fractions, negatives and values past the end of an Int32 throw a RangeError. */
export function marksFrom(values: Iterable<number>): Marks {
  const sorted = Float64Array.from(values).sort();
  const out = new Int32Array(sorted.length);
  let n = 0;
  for (const v of sorted) {
    if (!Number.isInteger(v) || v < 0 || v > 0x7fffffff) throw new RangeError(`not a sample index: ${v}`);
    if (n === 0 || out[n - 1] !== v) out[n++] = v;
  }
  return n === out.length ? out : out.slice(0, n);
}

/** Index of the first mark at or after `sample` (binary search). */
export function lowerBound(marks: Marks, sample: number): number {
  let lo = 0;
  let hi = marks.length;
  while (lo < hi) {
    const mid = (lo + hi) >> 1;
    if (marks[mid]! < sample) lo = mid + 1;
    else hi = mid;
  }
  return lo;
}

export function has(marks: Marks, sample: number): boolean {
  return marks[lowerBound(marks, sample)] === sample;
}

/** The marks in `[start, end)`, as a view. */
export function between(marks: Marks, start: number, end: number): Marks {
  return marks.subarray(lowerBound(marks, start), lowerBound(marks, Math.max(start, end)));
}

/** Index of the mark nearest to `sample` (the earlier one on a tie); -1 when there are none. */
export function nearest(marks: Marks, sample: number): number {
  if (marks.length === 0) return -1;
  const i = lowerBound(marks, sample);
  if (i === 0) return 0;
  if (i === marks.length) return i - 1;
  return sample - marks[i - 1]! <= marks[i]! - sample ? i - 1 : i;
}

/**
 * Where two sets differ: all of `a` before index `from` stands at the beginning of `b` too, and all from `to` on at its
 * end. Of equal sets that is all of them, either way.
 */
export function differing(a: Marks, b: Marks): { readonly from: number; readonly to: number } {
  const { head, tail } = unchanged(a, b);
  const equal = head === a.length && head === b.length;
  return { from: head, to: equal ? 0 : a.length - tail };
}

/** How many marks at the start and at the end are the same in both; none counts twice. */
export function unchanged(before: Marks, after: Marks): { readonly head: number; readonly tail: number } {
  const n = Math.min(before.length, after.length);
  if (before === after) return { head: n, tail: 0 };
  let head = 0;
  while (head < n && before[head] === after[head]) head++;
  let tail = 0;
  while (tail < n - head && before[before.length - 1 - tail] === after[after.length - 1 - tail]) tail++;
  return { head, tail };
}

/** A new set without `removed` and with `added`. Removing what is absent or adding what is present is a bug: it throws. */
export function replace(marks: Marks, removed: readonly SampleIndex[], added: readonly SampleIndex[]): Marks {
  let current = marks;
  for (const sample of removed) {
    const i = lowerBound(current, sample);
    if (current[i] !== sample) throw new RangeError(`no mark to remove at sample ${sample}`);
    const next = new Int32Array(current.length - 1);
    next.set(current.subarray(0, i));
    next.set(current.subarray(i + 1), i);
    current = next;
  }
  for (const sample of added) {
    const i = lowerBound(current, sample);
    if (current[i] === sample) throw new RangeError(`a mark is already at sample ${sample}`);
    const next = new Int32Array(current.length + 1);
    next.set(current.subarray(0, i));
    next[i] = sample;
    next.set(current.subarray(i), i + 1);
    current = next;
  }
  return current;
}

/**
 * Marks that are changed over and over, in place: for replaying thousands of entries, of which only the last state is
 * kept. `replace` takes what it gave last, which is no longer valid afterwards; anything else is copied first.
 */
export class MarksInPlace {
  private room: Marks = noMarks;
  private now: Marks = noMarks;

  /** As the function `replace`. */
  replace(marks: Marks, removed: readonly SampleIndex[], added: readonly SampleIndex[]): Marks {
    let length = marks.length;
    if (marks !== this.now || length + added.length > this.room.length) {
      this.room = new Int32Array(2 * (length + added.length));
      this.room.set(marks);
    }
    const room = this.room;
    if (removed.length === 1 && added.length === 1) {
      this.now = moved(room.subarray(0, length), removed[0]!, added[0]!);
      return this.now;
    }
    for (const sample of removed) {
      const i = lowerBound(room.subarray(0, length), sample);
      if (i === length || room[i] !== sample) throw new RangeError(`no mark to remove at sample ${sample}`);
      room.copyWithin(i, i + 1, length--);
    }
    for (const sample of added) {
      const i = lowerBound(room.subarray(0, length), sample);
      if (i < length && room[i] === sample) throw new RangeError(`a mark is already at sample ${sample}`);
      room.copyWithin(i + 1, i, length++);
      room[i] = sample;
    }
    this.now = room.subarray(0, length);
    return this.now;
  }
}

/** Moves one mark in place; only the marks between its two places shift. */
function moved(marks: Marks, from: SampleIndex, to: SampleIndex): Marks {
  const i = lowerBound(marks, from);
  if (marks[i] !== from) throw new RangeError(`no mark to remove at sample ${from}`);
  const j = lowerBound(marks, to);
  if (marks[j] === to && to !== from) throw new RangeError(`a mark is already at sample ${to}`);
  if (j > i) marks.copyWithin(i, i + 1, j);
  else marks.copyWithin(j + 1, j, i);
  marks[j > i ? j - 1 : j] = to;
  return marks;
}
