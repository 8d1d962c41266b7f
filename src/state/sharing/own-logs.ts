import { type EditLog, newLog } from '../../core/marks/log';
import { isFinished } from '../../core/review/raters/blind';
import { logHeader } from '../../core/review/session';
import { RemoteError } from '../../remote/remote-error';
import { type Sent, sendLog } from '../../remote/send-log';
import { signOffLog } from '../../remote/sign-off';
import { readStoredLog } from '../../remote/stored-log';
import { readStudyRevision } from '../../remote/study';
import { collection } from '../../storage/collection';
import type { Library } from '../library';
import type { ReviewStore } from '../review/review-store';
import { showOthers } from '../review/visibility';
import { type LabStore, remoteWords, type SentState, type SharingParts, type SignedIn } from './lab-store';

/**
 * Sends what the store lacks of the rater's own log as it is on disk, signs it off where the review is finished, and then
 * takes in the other raters' logs, which the server shows from then on. `open` is the review of this session where it is
 * on the screen. Never throws: what went wrong is in the state.
 */
export async function sendOwnLog(
  { ui, library, now }: Pick<SharingParts, 'ui' | 'library' | 'now'>,
  lab: LabStore,
  sessionId: string,
  open: ReviewStore | null,
): Promise<void> {
  const { signedIn } = lab.store.getState();
  if (signedIn?.role !== 'rater') return;
  const report = (sent: SentState) =>
    lab.store.setState(s => (s.signedIn === signedIn ? { sent: { ...s.sent, [sessionId]: sent } } : s));
  try {
    const settles = lab.store.getState().assignments.some(a => a.session === sessionId && a.place === 'settles');
    if (settles) await takeOthers(library, signedIn, sessionId);
    const log = await ownLog(library, sessionId, signedIn.user, settles);
    if (!log) return;
    report({ state: 'sending' });
    const chosen = await chosenBranch(signedIn, sessionId);
    const signedOff = lab.store.getState().signedOff.has(sessionId);
    const seen = await seenEntries(library, signedIn, sessionId);
    const sent = await sendLog(signedIn.remote, log, { seen, signedOff, chosen });
    await afterSending(sent, log, { ui, library, report, signedIn, isOpen: open !== null });
    if (sent.state !== 'sent') return;
    await noteSeen(library, signedIn, sessionId, sent.count);
    if (isFinished(log) && !signedOff) await signOff(lab, signedIn, log, now().toISOString());
    if (lab.store.getState().signedOff.has(sessionId)) {
      await takeOthers(library, signedIn, sessionId);
      if (open) await showOthers(library, open);
    }
    report({ state: 'sent', entries: sent.count });
  } catch (error) {
    report({ state: 'not sent', why: remoteWords(error) });
  }
}

/** The log on disk; an empty one for a session that is here and not begun; null for a session that is not here. */
async function ownLog(library: Library, sessionId: string, rater: string, settles: boolean): Promise<EditLog | null> {
  const stored = await library.log(sessionId, rater);
  // A settlement begins with the two logs that it settles, in the comparison.
  if (stored || settles) return stored;
  const session = await library.session(sessionId);
  return session && newLog(logHeader(session, rater));
}

interface Aftermath extends Pick<SharingParts, 'ui' | 'library'> {
  readonly report: (sent: SentState) => void;
  readonly signedIn: SignedIn;
  /** Open in this tab: its log must not change on the disk. */
  readonly isOpen: boolean;
}

async function afterSending(sent: Sent, log: EditLog, { ui, library, report, isOpen }: Aftermath): Promise<void> {
  const where = log.header.session;
  if (sent.state === 'sent') return;
  if (sent.state === 'behind') {
    if (isOpen) {
      ui.notify(`${where}: another machine has continued this review. Go back to the sessions and open it again.`);
      report({ state: 'not sent', why: 'continued on another machine' });
      return;
    }
    await library.addLog(sent.log);
    report({ state: 'sent', entries: sent.log.entries.length });
    return;
  }
  const words = {
    fork: `${where}: two machines went on from entry ${'sharedEntries' in sent ? sent.sharedEntries : 0} of this review. Both are stored; the supervisor chooses which one counts.`,
    'other branch chosen': `${where}: the supervisor chose the review of another machine. Export this one, remove the session here and fetch it again.`,
    shrunk: `${where}: the store once held ${'was' in sent ? sent.was : 0} entries of this review and now holds ${'now' in sent ? sent.now : 0}. Tell the supervisor; your own copy is complete.`,
  };
  ui.notify(words[sent.state]);
  report({ state: 'not sent', why: sent.state === 'shrunk' ? 'the stored copy became shorter' : 'forked' });
}

async function signOff(lab: LabStore, signedIn: SignedIn, log: EditLog, at: string): Promise<void> {
  const { state } = await signOffLog(signedIn.remote, log, at);
  lab.store.setState(s => ({ signedOff: new Set(s.signedOff).add(log.header.session) }));
  if (state === 'signed off elsewhere') throw new Error('another machine signed off another state of this review');
}

/** Logs of all raters whom the study names; those who have not begun have none. */
async function takeOthers(library: Library, { remote, user }: SignedIn, sessionId: string): Promise<void> {
  const found = await readStudyRevision(remote);
  const raters = new Set(
    found?.revision.draws.filter(d => d.sessions.includes(sessionId)).flatMap(d => d.raters) ?? [],
  );
  raters.delete(user);
  for (const rater of raters) {
    const stored = await readStoredLog(remote, rater, sessionId).catch(refusedAsNull);
    // One branch alone can be taken for the review; and only what is signed off is a second rating.
    if (stored?.branches.length === 1 && stored.signOff) await library.addLog(stored.branches[0]!);
  }
}

/** The server shows a settler a log once its rater has signed it off. */
function refusedAsNull(error: unknown): null {
  if (error instanceof RemoteError && error.problem === 'refused') return null;
  throw error;
}

async function chosenBranch({ remote, user }: SignedIn, sessionId: string): Promise<string | null> {
  const found = await readStudyRevision(remote);
  return found?.revision.branches.findLast(b => b.rater === user && b.session === sessionId)?.head ?? null;
}

/** How many entries the store was seen to hold; kept in this browser, so that a shorter one is noticed later. */
async function seenEntries(library: Library, { study, user }: SignedIn, sessionId: string): Promise<number> {
  const seen = collection<number>(await library.database(), 'setting');
  return (await seen.get('sent', study, user, sessionId)) ?? 0;
}

async function noteSeen(library: Library, { study, user }: SignedIn, sessionId: string, count: number): Promise<void> {
  const seen = collection<number>(await library.database(), 'setting');
  await seen.put(count, 'sent', study, user, sessionId);
}
