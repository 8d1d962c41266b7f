import type { UnblindedFact } from '../../marks/facts';
import type { Draft, EditLog, Intent, LogEntry, LogHeader } from '../../marks/log';
import type { ReviewedSession } from '../session';
import { codesBefore } from './reassign';

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

/** Looking, and what is said of the whole review, decide nothing about a mark. */
const noRating: ReadonlySet<Intent> = new Set<Intent>(['look', 'unblind', 'reassign']);

export function isRating({ intent }: Pick<LogEntry, 'intent'>): boolean {
  return !noRating.has(intent);
}

/** Whether a log holds more than looking. */
export function hasRated({ entries }: EditLog): boolean {
  return entries.some(isRating);
}

/** False once something was rated after other reviews of the session could be seen. */
export function isBlind({ entries }: EditLog): boolean {
  const shown = entries.findIndex(e => e.fact?.kind === 'unblinded');
  return shown === -1 || !entries.slice(shown + 1).some(isRating);
}

/** The rater's code, with what every table says beside it: 'R2, not blind', 'R2, reassigned from R1'. */
export function raterLabel(log: EditLog): string {
  const before = codesBefore(log);
  const moved = before.length > 0 ? [`reassigned from ${before.join(' and ')}`] : [];
  return [log.header.rater, ...moved, ...(isBlind(log) ? [] : ['not blind'])].join(', ');
}

/** Says in a log that other reviews could be seen from now on. */
export function unblindedDraft(at: string, by: UnblindedFact['by'], raters: readonly string[]): Draft {
  return { at, recording: '', intent: 'unblind', change: [], fact: { kind: 'unblinded', by, raters } };
}

/** The logs whose edits, dismissals and scores the viewer may see, in the session's order. */
export function visibleLogs({ logs }: ReviewedSession, viewer: Viewer): EditLog[] {
  const isOwn = (log: EditLog) => log.header.rater === viewer.rater && log.header.role === viewer.role;
  const rated = logs.filter(l => l.header.rater === viewer.rater && l.header.role !== 'adjudicator' && hasRated(l));
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
