import type { RecordingReview } from '../marks/edit';
import { type EditLog, type LogHeader, replay } from '../marks/log';
import { segmentsUnderReview } from '../review/coverage';
import { detectedOf, type ReviewedSession, type Session, type SessionRecording } from '../review/session';
import { type ScoreReport, scoreReport } from '../score/measures';
import { type RecordingScore, scoreRecording } from '../score/score';

/** What one rater's log says of one recorder. The page, the exports and the command line all take their numbers here. */
export interface SessionScore {
  readonly rater: string;
  readonly role: LogHeader['role'];
  /** Signed off as a whole. */
  readonly finished: boolean;
  readonly recordingId: string;
  readonly recorder: string;
  readonly review: RecordingReview;
  readonly score: RecordingScore;
  readonly report: ScoreReport;
}

/**
 * Scores of each log on each recording, in the order of the logs and recordings; only of `rater` when given. A session
 * without a log has none: nobody has said where the beats are.
 */
export function sessionScores({ session, logs }: ReviewedSession, rater?: string): SessionScore[] {
  const chosen = rater === undefined ? logs : logs.filter(log => log.header.rater === rater);
  return chosen.flatMap(log => logScores(session, log));
}

function logScores(session: Session, log: EditLog): SessionScore[] {
  const { recordings, finished } = replay(log, detectedOf(session));
  return session.recordings.map(item => {
    const review = recordings.get(item.recording.id)!;
    const score = scoreReview(session, item, review);
    const { id, recorder } = item.recording;
    const { rater, role } = log.header;
    return { rater, role, finished, recordingId: id, recorder, review, score, report: scoreReport(score) };
  });
}

/** The score of one recording as one rater has it; without segments, of the whole. */
export function scoreReview(session: Session, item: SessionRecording, review: RecordingReview): RecordingScore {
  return scoreRecording({
    beats: review.marks,
    marks: item.detected,
    unreadable: review.unreadable,
    gaps: item.recording.gaps,
    segments: segmentsUnderReview(item),
    samplingRateHz: item.recording.samplingRateHz,
    settings: session.settings,
  });
}
