import type { RecordingReview } from '../../core/marks/edit';
import type { Replayed } from '../../core/marks/log';
import type { MatchSettings } from '../../core/marks/match';
import type { SessionRecording } from '../../core/review/session';
import { type ReviewedScore, reviewedScore } from '../../core/review/standing/reviewed-score';
import { scoreReview } from '../../core/review/standing/score-review';
import type { RecordingScore } from '../../core/score/score';
import { followedSamples } from './followed-samples';

interface Remembered {
  readonly review: RecordingReview;
  readonly settings: MatchSettings;
  readonly recording: SessionRecording;
  readonly score: RecordingScore;
}

/**
 * Scores of the recordings as reviewed, recomputed when marks, spans, segments or settings change and remembered
 * otherwise. The last one of a recording makes the next one quick.
 */
export function createScores() {
  const remembered = new Map<string, Remembered>();
  return (recording: SessionRecording, review: RecordingReview, settings: MatchSettings): RecordingScore => {
    const id = recording.recording.id;
    const known = remembered.get(id);
    if (
      known &&
      known.review.marks === review.marks &&
      known.review.unreadable === review.unreadable &&
      known.settings === settings &&
      known.recording === recording
    ) {
      return known.score;
    }
    const score = scoreReview(recording, review, settings, known?.score);
    remembered.set(id, { review, settings, recording, score });
    return score;
  };
}

interface Looked {
  readonly review: RecordingReview;
  readonly finished: boolean;
  readonly score: ReviewedScore;
}

const lookedAtLast = new WeakMap<RecordingScore, Looked>();

/** The score of a rater's own review over what they looked at; made again when that grows. */
export function ownReviewedScore(
  score: RecordingScore,
  item: SessionRecording,
  replayed: Pick<Replayed, 'recordings' | 'finished'>,
): ReviewedScore {
  const { recordings, finished } = replayed;
  const review = recordings.get(item.recording.id)!;
  const last = lookedAtLast.get(score);
  const same =
    last?.finished === finished &&
    last.review.seen === review.seen &&
    last.review.accepted === review.accepted &&
    last.review.signOffs === review.signOffs &&
    last.review.sampled === review.sampled &&
    last.review.samplePlans === review.samplePlans;
  if (same) return last.score;
  const fresh = reviewedScore(score, item, {
    lookers: [{ rater: '', recordings }],
    finished,
    samples: [followedSamples(item, review, score)],
  });
  lookedAtLast.set(score, { review, finished, score: fresh });
  return fresh;
}
