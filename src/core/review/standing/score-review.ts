import type { RecordingReview } from '../../marks/edit';
import type { MatchSettings } from '../../marks/match';
import { type RecordingScore, scoreRecording } from '../../score/score';
import type { SessionRecording } from '../session';
import { segmentsUnderReview } from './coverage';

/** The score of one recording's detected marks, as one rater has it; without segments, of the whole. */
export function scoreReview(
  item: SessionRecording,
  review: Pick<RecordingReview, 'marks' | 'unreadable'>,
  settings: MatchSettings,
): RecordingScore {
  return scoreRecording({
    beats: review.marks,
    marks: item.detected,
    unreadable: review.unreadable,
    gaps: item.recording.gaps,
    segments: segmentsUnderReview(item),
    samplingRateHz: item.recording.samplingRateHz,
    settings,
  });
}
