import { lowerBound } from '../marks/markset';
import { firstEndingAfter, union } from '../marks/spans';
import type { Segment } from '../recording/recording';
import { IntervalOutcome, localRr } from '../score/intervals';
import type { RecordingScore } from '../score/score';
import type { Span } from '../units';

/** What one stretch holds, as far as its marks are reviewed. */
export interface StretchCount {
  /** Wrong and lost intervals. */
  readonly errors: number;
  /** Judged and lost intervals; lost ones are fractions. */
  readonly intervals: number;
}

/**
 * Counts of one stretch; null when it has lost time and no interval can be judged anywhere. An interval belongs to the
 * stretch of its first beat. Lost intervals are the unreadable time inside the stretch over the local RR interval,
 * unrounded (a full review rounds them, and stretches them to the beats around).
 */
export type CountStretch = (stretch: Span) => StretchCount | null;

/** Counts of single stretches from one score of the recording. `segments` are those that the stretches were cut from. */
export function stretchCounter(
  { input, matching, outcomes }: RecordingScore,
  segments: readonly Segment[],
): CountStretch {
  const excluded = union(input.unreadable, input.gaps);
  const { beats } = matching;
  const rrAround = (s: Span) => localRr({ beats, outcomes, segments: input.segments }, s.start, s.end);
  return stretch => {
    const segment = segments.find(s => s.start <= stretch.start && stretch.start < s.end);
    if (!segment) throw new RangeError('a stretch lies in none of the segments it was cut from');
    let judged = 0;
    let wrong = 0;
    for (let k = lowerBound(beats, stretch.start); k < outcomes.length && beats[k]! < stretch.end; k++) {
      if (outcomes[k] === IntervalOutcome.across || beats[k + 1]! >= segment.end) continue;
      judged++;
      if (outcomes[k] !== IntervalOutcome.right) wrong++;
    }
    let lost = 0;
    for (let i = firstEndingAfter(excluded, stretch.start); i < excluded.length; i++) {
      const span = excluded[i]!;
      if (span.start >= stretch.end) break;
      const rr = rrAround(span);
      if (rr === null) return null;
      lost += (Math.min(span.end, stretch.end) - Math.max(span.start, stretch.start)) / rr;
    }
    return { errors: wrong + lost, intervals: judged + lost };
  };
}
