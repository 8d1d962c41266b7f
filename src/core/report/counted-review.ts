import type { RecordingReview } from '../marks/edit';
import { type EditLog, type Replayed, replay } from '../marks/log';
import { detectedOf, type ReviewedSession, type Session } from '../review/session';
import { groundsOf } from '../review/standing/grounds';
import type { Looker } from '../review/standing/looked-at';
import type { Grounds } from '../review/standing/reviewed-score';
import { sourceLabel } from '../review/standing/sources';

export interface ReplayedLog {
  readonly log: EditLog;
  readonly replayed: Replayed;
}

/** A session with every log replayed once, for all parts of a report. */
export interface ReplayedSession {
  readonly session: Session;
  readonly logs: readonly ReplayedLog[];
}

/** The review that a report's numbers rest on. */
export interface CountedReview {
  readonly session: Session;
  /** In words: 'R1', 'adjudicated by S1', 'R1, not finished'. */
  readonly source: string;
  readonly log: EditLog;
  readonly finished: boolean;
  readonly recordings: ReadonlyMap<string, RecordingReview>;
  /** Whose looking it rests on; null when those logs are not here. */
  readonly lookers: readonly Looker[] | null;
  /** What the standing of its numbers rests on, by recording id. */
  readonly groundsOf: (recordingId: string) => Grounds;
}

export function replaySession({ session, logs }: ReviewedSession): ReplayedSession {
  const detected = detectedOf(session);
  return { session, logs: logs.map(log => ({ log, replayed: replay(log, detected) })) };
}

/**
 * Which log counts: a finished adjudicated one; else the finished one of the named rater (`countedRater`), or where none is
 * named of the rater first by code; else, where unfinished reviews are let in, the first of those in the same order.
 * Learners' logs never count. Null when there is none.
 */
export function countedReview(
  { session, logs }: ReplayedSession,
  includeUnfinished: boolean,
  countedRater: string | null = null,
): CountedReview | null {
  const rank = ({ log, replayed }: ReplayedLog) =>
    (replayed.finished ? 0 : 2) + (log.header.role === 'adjudicator' ? 0 : 1);
  const usable = logs.filter(
    ({ log: { header }, replayed }) =>
      header.role !== 'learner' &&
      (replayed.finished || includeUnfinished) &&
      (header.role === 'adjudicator' || countedRater === null || header.rater === countedRater),
  );
  const [first] = [...usable].sort((a, b) => rank(a) - rank(b) || (a.log.header.rater < b.log.header.rater ? -1 : 1));
  if (!first) return null;
  const { log, replayed } = first;
  const { recordings, finished } = replayed;
  const { lookers, of } = groundsOf(
    session,
    log,
    replayed,
    logs.map(l => l.log),
  );
  return { session, source: sourceLabel(log, finished), log, finished, recordings, lookers, groundsOf: of };
}
