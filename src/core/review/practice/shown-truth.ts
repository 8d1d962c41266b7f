import type { RecordingReview } from '../../marks/edit';
import type { SampledNumber } from '../../sample/number';
import { qualityOf } from '../../score/measures';
import type { Computed } from '../../score/result';
import { sampledReviews } from '../standing/sampled';
import { scoreReview } from '../standing/score-review';
import type { PracticeLesson } from './practice-lesson';

/** What a learner is shown after sampling a lesson whose answers are known. */
export interface ShownTruth {
  /** Quality of all of the recording, by its answers. */
  readonly truth: Computed;
  /** What the learner's sample came to. */
  readonly own: SampledNumber;
  /** What the same stretches come to when none of their mistakes is overlooked. */
  readonly faultless: SampledNumber;
}

/** Null for a lesson that was not sampled. */
export function shownTruth(
  { item, key, session: { settings } }: Pick<PracticeLesson, 'item' | 'key' | 'session'>,
  review: RecordingReview,
): ShownTruth | null {
  const answers: RecordingReview = { ...review, marks: key.beats, unreadable: key.unreadable };
  const score = scoreReview(item, answers, settings);
  const [own] = sampledReviews(item, review, scoreReview(item, review, settings));
  const [faultless] = sampledReviews(item, answers, score);
  return own && faultless
    ? { truth: qualityOf(score.total).quality, own: own.whole, faultless: faultless.whole }
    : null;
}

/** Whether a 95 % interval holds the truth; false where either cannot be computed. */
export function holdsTruth({ interval95 }: SampledNumber, { value }: Computed): boolean {
  return interval95 !== null && value !== null && value >= interval95[0] && value <= interval95[1];
}
