import { lowerBound, type Marks } from '../../marks/markset';
import type { SampleIndex, Span } from '../../units';

/** An end put this near to the edge of a stretch of noise is meant to lie on it. */
const edgeReachS = 0.3;
/** As long as a QRS lasts: nearer to the next mark than this, a span ends there. */
const markReachS = 0.1;

/**
 * An unreadable span as it is meant: each end on the edge of the noise where one lies just outside it, else the end on the
 * next mark, where one is near. It only grows, and never over a mark: what it holds is what the rater showed. Samples of
 * the recording.
 *
 * @param edges where stretches of noise begin or end, in any order
 */
export function snapSpan({ start, end }: Span, marks: Marks, edges: readonly number[], samplingRateHz: number): Span {
  const reach = edgeReachS * samplingRateHz;
  const before = marks[lowerBound(marks, start) - 1] ?? Number.NEGATIVE_INFINITY;
  const after = marks[lowerBound(marks, end)] ?? Number.POSITIVE_INFINITY;
  const earlier = edges.filter(e => e > before && e <= start && e >= start - reach);
  const later = edges.filter(e => e <= after && e >= end && e <= end + reach);
  const onMark = after - end <= markReachS * samplingRateHz ? after : end;
  const ends = { start: Math.max(...earlier), end: Math.min(...later) };
  return {
    start: earlier.length > 0 ? (ends.start as SampleIndex) : start,
    end: later.length > 0 ? (ends.end as SampleIndex) : (onMark as SampleIndex),
  };
}
