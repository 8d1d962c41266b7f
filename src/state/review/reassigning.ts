import { hasRated } from '../../core/review/raters/blind';
import { reassigned, whyNotReassign } from '../../core/review/raters/reassign';
import { lockSession, openUnder } from '../../storage/locks';
import type { HasLibrary, Library } from '../library';
import type { Prefs } from '../stores/prefs-store';
import { hasSeenOthers, saveSeen } from './unblinding';
import type { ReviewWorkspace } from './workspace';

/** What putting a review under another code needs of the page. */
export interface Reassigning extends HasLibrary {
  readonly prefs: { getState(): Pick<Prefs, 'supervises'>; change(part: Partial<Prefs>): void };
  now(): Date;
}

/** Why the review of a session may not go to the code `to`, in words; null when it may. */
async function whyNotTo(app: Reassigning, session: string, to: string): Promise<string | null> {
  if ((await app.library.raters(session)).includes(to))
    return `${to} already has a review of this session: choose the code that this review belongs to.`;
  if (app.prefs.getState().supervises[session] === to) return `${to} settles differences in this session.`;
  if (await hasSeenOthers(app.library, session, to))
    return `Reviews by others were shown to ${to}: a review by ${to} would not be blind.`;
  return null;
}

/**
 * Puts the open review under the code `to`, which this browser reviews under from then on. The workspace takes no more
 * edits: leave it. Throws with the reason, and changes nothing, where that may not be.
 */
export async function reassignReview(app: Reassigning, workspace: ReviewWorkspace, to: string): Promise<void> {
  const { review } = workspace;
  await review.settled();
  const { session, log, access, saving } = review.get();
  const { rater } = log.header;
  if (to === rater) throw new Error(`This review is under ${to} already.`);
  if (!access.writable) throw new Error(access.why ?? 'This review is read-only here.');
  if (saving.failure) throw new Error(`Not everything is saved: ${saving.failure}`);
  const lock = await lockSession(session.id, to);
  if (!lock.held) throw new Error(`The session is open in another tab under ${to}: close it there first.`);
  await openUnder(lock, async () => {
    const why = whyNotReassign(log) ?? (await whyNotTo(app, session.id, to));
    if (why !== null) throw new Error(why);
    review.setAccess({ writable: false, why: `reassigned to ${to}` });
    try {
      if (hasRated(log)) await app.library.replaceLog(log, reassigned(log, to, app.now().toISOString()));
    } catch (error) {
      review.setAccess(access);
      throw error;
    }
    await saveSeen(app.library, log);
    await keepPlace(app.library, session.id, rater, to);
    app.prefs.change({ rater: to });
    lock.release();
  });
}

/** Where one was is a convenience: losing it is not worth a word. */
async function keepPlace(library: Library, session: string, from: string, to: string): Promise<void> {
  const views = await library.views();
  const kept = await views.get(session, from).catch(() => null);
  if (kept) await views.put(kept, session, to).catch(() => undefined);
}
