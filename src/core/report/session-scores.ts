import type { RecordingReview } from '../marks/edit';
import { type EditLog, type LogHeader, replay } from '../marks/log';
import { scoreReview } from '../review/score-review';
import { detectedOf, type ReviewedSession, type Session } from '../review/session';
import { type ScoreReport, scoreReport } from '../score/measures';
import type { RecordingScore } from '../score/score';

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
    const score = scoreReview(item, review, session.settings);
    const { id, recorder } = item.recording;
    const { rater, role } = log.header;
    return { rater, role, finished, recordingId: id, recorder, review, score, report: scoreReport(score) };
  });
}
