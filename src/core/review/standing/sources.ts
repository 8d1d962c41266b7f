import type { EditLog } from '../../marks/log';
import { replay } from '../../marks/log';
import type { RecordingScore } from '../../score/score';
import { raterLabel } from '../raters/blind';
import { detectedOf, type Session } from '../session';
import { scoreReview } from './score-review';

/** Scores of one session by one log. A score is never shown without saying whose it is. */
export interface SourcedScores {
  /** In words: 'R1', 'adjudicated by S1', 'R1, not finished'. */
  readonly source: string;
  readonly rater: string;
  readonly role: EditLog['header']['role'];
  readonly finished: boolean;
  /** By recording id. */
  readonly scores: ReadonlyMap<string, RecordingScore>;
}

export function scoresByLog(session: Session, log: EditLog): SourcedScores {
  const { recordings, finished } = replay(log, detectedOf(session));
  const scores = session.recordings.map(item => {
    const review = recordings.get(item.recording.id)!;
    const score = scoreReview(item, review, session.settings);
    return [item.recording.id, score] as const;
  });
  const { rater, role } = log.header;
  return { source: sourceLabel(log, finished), rater, role, finished, scores: new Map(scores) };
}

export function sourceLabel(log: EditLog, finished: boolean): string {
  const { role, rater } = log.header;
  const who = role === 'adjudicator' ? `adjudicated by ${rater}` : raterLabel(log);
  return finished ? who : `${who}, not finished`;
}
