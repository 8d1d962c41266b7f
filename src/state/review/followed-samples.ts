import type { RecordingReview } from '../../core/marks/edit';
import type { SessionRecording } from '../../core/review/session';
import { FollowedSample, layOutPlan, type SampledReview } from '../../core/review/standing/sampled';
import type { LaidOutPlan } from '../../core/sample/plan';
import type { RecordingScore } from '../../core/score/score';

const none: readonly SampledReview[] = [];
const known = new WeakMap<RecordingReview, { score: RecordingScore; found: readonly SampledReview[] }>();
const followed = new WeakMap<LaidOutPlan, FollowedSample>();

/** Sampled numbers of a recording as reviewed: once for each state, and from one state to the next without a replay. */
export function followedSamples(
  item: SessionRecording,
  review: RecordingReview,
  score: RecordingScore,
): readonly SampledReview[] {
  if (review.samplePlans.length === 0) return none;
  const before = known.get(review);
  if (before?.score === score) return before.found;
  const found = review.samplePlans.flatMap(plan => {
    const laidOut = layOutPlan(item, plan);
    return laidOut ? [follow(item, laidOut).after(review, score)] : [];
  });
  known.set(review, { score, found });
  return found;
}

function follow(item: SessionRecording, laidOut: LaidOutPlan): FollowedSample {
  const before = followed.get(laidOut);
  if (before) return before;
  const fresh = new FollowedSample(item, laidOut, true);
  followed.set(laidOut, fresh);
  return fresh;
}
