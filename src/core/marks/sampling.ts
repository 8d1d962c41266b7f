import type { Span } from '../units';

/** The most stretches of a plan: a week in stretches of 5 s. */
export const mostStretches = 120_960;

/** All that a sampled review rests on. Fixed before the first stretch is seen, and kept in the review's log. */
export interface SamplePlan {
  /** Segment that is sampled; null for all segments of the recording together. */
  readonly segment: string | null;
  readonly seed: number;
  readonly stretchSeconds: number;
  /** Shown on either side of a stretch, and not reviewed with it. */
  readonly contextSeconds: number;
  /** Share of the stretches in each class but the last, most suspicious first. */
  readonly shares: readonly number[];
  /** Weight of each class. */
  readonly weights: readonly number[];
  /** Wanted half-width of the interval as a share, 0.01 for one percentage point; null: by the estimate. */
  readonly halfWidth: number | null;
  /** Class of each stretch, in order of time. */
  readonly classes: readonly number[];
  /** Bound on the number of intervals of each stretch, in order of time. */
  readonly bounds: readonly number[];
}

/** What became of one stretch of a sample. */
export interface SampledEntry extends Span {
  readonly outcome: 'reviewed' | 'skipped';
  /** Put before the rater by the sample; else they went there for another reason, and it is known. */
  readonly drawn: boolean;
  /** Its place among all of the recording, from 0: the order decides the interval. */
  readonly place: number;
}
