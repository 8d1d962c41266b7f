import { lowerBound, type Marks } from '../marks/markset';
import { median } from '../moments';
import type { SampleIndex, Span } from '../units';

/**
 * Segments cut into half-open stretches of `seconds`, by time; the last one of a segment may be shorter. Segments must
 * not overlap: throws a RangeError, because a place would be in two stretches.
 */
export function cutIntoStretches(segments: readonly Span[], samplingRateHz: number, seconds: number): Span[] {
  const sorted = [...segments].sort((a, b) => a.start - b.start);
  const overlap = sorted.some((s, i) => i > 0 && s.start < sorted[i - 1]!.end);
  if (overlap) throw new RangeError('segments that overlap cannot be sampled together: sample one of them');
  const length = Math.max(1, Math.round(seconds * samplingRateHz));
  return sorted.flatMap(({ start, end }) =>
    Array.from({ length: Math.ceil((end - start) / length) }, (_, k) => ({
      start: (start + k * length) as SampleIndex,
      end: Math.min(start + (k + 1) * length, end) as SampleIndex,
    })),
  );
}

/** How far around a stretch the usual number of marks is taken from, in seconds on either side. */
const nearSeconds = 300;

/**
 * Bounds on the number of intervals of each stretch: u = ceil(1.25 d) + 1 with d the largest of its detected marks, the
 * second detector's marks in it, the median of the detected marks in the stretches within 5 min, and one a second.
 */
export function boundsOf(
  stretches: readonly Span[],
  detected: Marks,
  second: Marks | null,
  samplingRateHz: number,
): number[] {
  const own = stretches.map(s => countWithin(detected, s));
  return stretches.map((stretch, i) => {
    const usual = median(own.slice(...near(stretches, i, nearSeconds * samplingRateHz)));
    const opinion = second ? countWithin(second, stretch) : 0;
    const seconds = (stretch.end - stretch.start) / samplingRateHz;
    return Math.ceil(1.25 * Math.max(own[i]!, opinion, usual, seconds) - 1e-9) + 1;
  });
}

function countWithin(marks: Marks, { start, end }: Span): number {
  return lowerBound(marks, end) - lowerBound(marks, start);
}

/** Indices [from, to) of the stretches that begin within `reach` samples of stretch i. */
function near(stretches: readonly Span[], i: number, reach: number): [number, number] {
  const at = stretches[i]!.start;
  let from = i;
  let to = i + 1;
  while (from > 0 && at - stretches[from - 1]!.start <= reach) from--;
  while (to < stretches.length && stretches[to]!.start - at <= reach) to++;
  return [from, to];
}

/** Shares of the stretches in each class, most suspicious first; the last class takes the rest. */
export const classShares = [0.02, 0.06, 0.15, 0.4] as const;
/** Weights of the classes, most suspicious first. */
export const classWeights = [4, 2, 1.5, 1, 1] as const;

/** Something suspicious at a place: how suspicious, 0 to 1. */
export interface Suspected {
  readonly at: number;
  readonly score: number;
}

/** Suspicion of each stretch: the sum over the places in it. */
export function summedSuspicion(stretches: readonly Span[], found: readonly Suspected[]): Float64Array {
  const sums = new Float64Array(stretches.length);
  const starts = Int32Array.from(stretches, s => s.start);
  for (const { at, score } of found) {
    const i = lowerBound(starts, at + 1) - 1;
    if (i >= 0 && at < stretches[i]!.end) sums[i]! += score;
  }
  return sums;
}

/** Class of each stretch by the rank of its suspicion, highest first, ties to the lower index. */
export function classesByRank(suspicion: Float64Array): number[] {
  const ranked = Array.from(suspicion, (_, i) => i).sort((a, b) => suspicion[b]! - suspicion[a]! || a - b);
  const ends = classShares.map((_, h) => {
    const share = classShares.slice(0, h + 1).reduce((sum, s) => sum + s, 0);
    return Math.round(share * suspicion.length);
  });
  const classes = new Array<number>(suspicion.length).fill(classShares.length);
  for (const [rank, i] of ranked.entries()) {
    const h = ends.findIndex(end => rank < end);
    if (h >= 0) classes[i] = h;
  }
  return classes;
}
