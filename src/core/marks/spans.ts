import type { SampleIndex, Span } from '../units';

/**
 * Set algebra on sorted, disjoint, non-empty half-open spans. Used for unreadable spans, coverage and gaps.
 * Every function returns a normalised list and leaves its inputs alone.
 */

const make = (start: number, end: number): Span => ({ start: start as SampleIndex, end: end as SampleIndex });

/** Sorts, drops empty spans, and joins those that overlap or touch. */
export function normalise(spans: readonly Span[]): Span[] {
  if (isNormalised(spans)) return spans.map(s => make(s.start, s.end));
  const sorted = spans.filter(s => s.end > s.start).sort((a, b) => a.start - b.start || a.end - b.end);
  const out: { start: number; end: number }[] = [];
  for (const s of sorted) {
    const last = out[out.length - 1];
    if (last && s.start <= last.end) last.end = Math.max(last.end, s.end);
    else out.push({ start: s.start, end: s.end });
  }
  return out.map(s => make(s.start, s.end));
}

/** Most lists are: a review keeps its own so. */
function isNormalised(spans: readonly Span[]): boolean {
  let last = Number.NEGATIVE_INFINITY;
  for (const { start, end } of spans) {
    // One that touches the span before it is to be joined with it.
    if (!(start > last && end > start)) return false;
    last = end;
  }
  return true;
}

export function union(a: readonly Span[], b: readonly Span[]): Span[] {
  return normalise([...a, ...b]);
}

/** `union` of a normalised list and one span that is not empty, without sorting: for lists that grow key by key. */
export function include(spans: readonly Span[], one: Span): Span[] {
  const from = firstEndingAfter(spans, one.start - 1);
  let to = from;
  let start: number = one.start;
  let end: number = one.end;
  for (; to < spans.length && spans[to]!.start <= one.end; to++) {
    start = Math.min(start, spans[to]!.start);
    end = Math.max(end, spans[to]!.end);
  }
  const out = [...spans];
  out.splice(from, to - from, make(start, end));
  return out;
}

/** What is in `a` and not in `b`. */
export function subtract(a: readonly Span[], b: readonly Span[]): Span[] {
  const cuts = normalise(b);
  const out: Span[] = [];
  let k = 0;
  for (const s of normalise(a)) {
    let from: number = s.start;
    while (k < cuts.length && cuts[k]!.end <= s.start) k++;
    for (let j = k; j < cuts.length && cuts[j]!.start < s.end; j++) {
      if (cuts[j]!.start > from) out.push(make(from, cuts[j]!.start));
      from = Math.max(from, cuts[j]!.end);
    }
    if (from < s.end) out.push(make(from, s.end));
  }
  return out;
}

export function intersect(a: readonly Span[], b: readonly Span[]): Span[] {
  const left = normalise(a);
  const right = normalise(b);
  const out: Span[] = [];
  for (let i = 0, j = 0; i < left.length && j < right.length; ) {
    const start = Math.max(left[i]!.start, right[j]!.start);
    const end = Math.min(left[i]!.end, right[j]!.end);
    if (start < end) out.push(make(start, end));
    if (left[i]!.end < right[j]!.end) i++;
    else j++;
  }
  return out;
}

/** Total number of samples covered. */
export function totalLength(spans: readonly Span[]): number {
  let sum = 0;
  for (const s of normalise(spans)) sum += s.end - s.start;
  return sum;
}

/** Samples of a normalised list inside `within`. */
export function lengthWithin(spans: readonly Span[], within: Span): number {
  let sum = 0;
  for (let k = firstEndingAfter(spans, within.start); k < spans.length && spans[k]!.start < within.end; k++)
    sum += Math.min(spans[k]!.end, within.end) - Math.max(spans[k]!.start, within.start);
  return sum;
}

/** Index of the first span that ends after `sample`, in a normalised list; `spans.length` when there is none. */
export function firstEndingAfter(spans: readonly Span[], sample: number): number {
  let lo = 0;
  let hi = spans.length;
  while (lo < hi) {
    const mid = (lo + hi) >> 1;
    if (spans[mid]!.end > sample) hi = mid;
    else lo = mid + 1;
  }
  return lo;
}

/** Whether a normalised list holds `sample`. */
export function covers(spans: readonly Span[], sample: number): boolean {
  const s = spans[firstEndingAfter(spans, sample)];
  return s !== undefined && s.start <= sample;
}
