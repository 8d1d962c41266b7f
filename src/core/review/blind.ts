import type { EditLog, LogHeader } from '../marks/log';
import type { ReviewedSession } from './session';

/**
 * Who may see whose work. A rater sees the others' logs, and whatever follows from them (edits, dismissals, scores), only
 * while their own review is finished. Whoever settles differences without rating sees finished logs only.
 */

export type Viewer = Pick<LogHeader, 'rater' | 'role'>;

/** Finished and not reopened since. */
export function isFinished(log: EditLog): boolean {
  for (let i = log.entries.length - 1; i >= 0; i--) {
    const { intent } = log.entries[i]!;
    if (intent === 'finish' || intent === 'restart') return intent === 'finish';
  }
  return false;
}

/** The logs whose edits, dismissals and scores the viewer may see, in the session's order. */
export function visibleLogs({ logs }: ReviewedSession, viewer: Viewer): EditLog[] {
  const isOwn = (log: EditLog) => log.header.rater === viewer.rater && log.header.role === viewer.role;
  const rated = logs.filter(l => l.header.rater === viewer.rater && l.header.role !== 'adjudicator');
  const blind = rated.some(l => !isFinished(l)) || (rated.length === 0 && viewer.role !== 'adjudicator');
  if (blind) return logs.filter(l => isOwn(l) && l.header.role !== 'adjudicator');
  if (viewer.role === 'adjudicator') return logs.filter(l => isOwn(l) || isFinished(l));
  return [...logs];
}

/** What this copy of the session may show the viewer: nothing of a hidden log is in it. */
export function visibleTo(reviewed: ReviewedSession, viewer: Viewer): ReviewedSession {
  return { session: reviewed.session, logs: visibleLogs(reviewed, viewer) };
}

/** Who an export is for: `as I see it` carries what the viewer may see, `blind rater` carries no log at all. */
export type Audience = 'as I see it' | 'blind rater';

export function exportableLogs(reviewed: ReviewedSession, viewer: Viewer, audience: Audience): EditLog[] {
  return audience === 'blind rater' ? [] : visibleLogs(reviewed, viewer);
}
