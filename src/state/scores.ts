import type { RecordingReview } from '../core/marks/edit';
import type { MatchSettings } from '../core/marks/match';
import { wholeSegment } from '../core/recording/recording';
import type { SessionRecording } from '../core/review/session';
import { type RecordingScore, scoreRecording } from '../core/score/score';

interface Remembered {
  readonly review: RecordingReview;
  readonly settings: MatchSettings;
  readonly recording: SessionRecording;
  readonly score: RecordingScore;
}

/**
 * Scores of the recordings as reviewed, computed anew when marks, spans, segments or settings change and remembered
 * otherwise. Scoring 100,000 marks takes a few milliseconds, so there is no incremental machinery.
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
    const score = scoreRecording({
      beats: review.marks,
      marks: recording.detected,
      unreadable: review.unreadable,
      gaps: recording.recording.gaps,
      segments: segmentsOf(recording),
      samplingRateHz: recording.recording.samplingRateHz,
      settings,
    });
    remembered.set(id, { review, settings, recording, score });
    return score;
  };
}

export function segmentsOf({ segments, recording }: SessionRecording) {
  return segments.length > 0 ? segments : [wholeSegment(recording)];
}
