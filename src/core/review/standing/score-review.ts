import type { RecordingReview } from '../../marks/edit';
import type { MatchSettings } from '../../marks/match';
import { type RecordingScore, type ScoreInput, scoreRecording } from '../../score/score';
import type { SessionRecording } from '../session';
import { segmentsUnderReview } from './coverage';

/**
 * The score of one recording's detected marks, as one rater has it; without segments, of the whole. The score of the review
 * as it stood `before`, if there is one, makes that quick.
 */
export function scoreReview(
  item: SessionRecording,
  review: Pick<RecordingReview, 'marks' | 'unreadable'>,
  settings: MatchSettings,
  before: RecordingScore | null = null,
): RecordingScore {
  const input: ScoreInput = {
    beats: review.marks,
    marks: item.detected,
    unreadable: review.unreadable,
    gaps: item.recording.gaps,
    segments: segmentsUnderReview(item),
    samplingRateHz: item.recording.samplingRateHz,
    settings,
  };
  return scoreRecording(input, before);
}
