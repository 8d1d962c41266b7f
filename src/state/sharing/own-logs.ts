import { type EditLog, type LogHeader, newLog } from '../../core/marks/log';
import { isFinished } from '../../core/review/raters/blind';
import { logHeader } from '../../core/review/session';
import type { StudyRevision } from '../../remote/records';
import { RemoteError } from '../../remote/remote-error';
import { type Sent, sendLog } from '../../remote/send-log';
import { signOffLog } from '../../remote/sign-off';
import { holdsSignOff, readCountedLog } from '../../remote/stored-log';
import { chosenHead, readStudyRevision } from '../../remote/study';
import { collection } from '../../storage/collection';
import { lockBriefly } from '../../storage/locks';
import type { Library } from '../library';
import type { ReviewStore } from '../review/review-store';
import { showOthers } from '../review/visibility';
import { isHere, type LabStore, remoteWords, type SentState, type SharingParts, type SignedIn } from './lab-store';

/**
 * Sends what the store lacks of the rater's own log as it is on disk, signs it off where the review is finished, and then
 * takes in the other raters' logs, which the server shows from then on. `open` is the review of this session where it is
 * on the screen. Never throws: what went wrong is in the state.
 */
export async function sendOwnLog(
  parts: Pick<SharingParts, 'ui' | 'library' | 'now'>,
  lab: LabStore,
  sessionId: string,
  open: ReviewStore | null,
): Promise<void> {
  const { signedIn } = lab.store.getState();
  if (signedIn?.role !== 'rater') return;
  const report = (own: SentState | null) =>
    lab.store.setState(s => {
      if (s.signedIn !== signedIn) return s;
      const { [sessionId]: _, ...sent } = s.sent;
      return { sent: own ? { ...sent, [sessionId]: own } : sent };
    });
  const send = () => sendAs(parts, lab, signedIn, sessionId, open, report);
  try {
    await send().catch(async error => {
      if (await wasSignedOffMeanwhile(lab, signedIn, sessionId, error)) return send();
      throw error;
    });
  } catch (error) {
    report({ state: 'not sent', why: remoteWords(error) });
  }
}

/** A log is closed by signing it off, perhaps in another tab or on another machine: what comes later has its own place. */
async function wasSignedOffMeanwhile(
  lab: LabStore,
  signedIn: SignedIn,
  sessionId: string,
  error: unknown,
): Promise<boolean> {
  const isSignedOff = () => lab.store.getState().signedOff.has(sessionId);
  if (!(error instanceof RemoteError) || error.problem !== 'refused' || isSignedOff()) return false;
  await lab.refresh();
  return lab.store.getState().signedIn === signedIn && isSignedOff();
}

async function sendAs(
  { ui, library, now }: Pick<SharingParts, 'ui' | 'library' | 'now'>,
  lab: LabStore,
  signedIn: SignedIn,
  sessionId: string,
  open: ReviewStore | null,
  report: (sent: SentState | null) => void,
): Promise<void> {
  // Of this account: somebody else may sign in while it is sent.
  const { assignments, signedOff } = lab.store.getState();
  // Asked for nothing where there is nothing to send: sessions that were never fetched are many.
  if (!(await isHere(library, sessionId, signedIn.user))) {
    // Removed since: of what was not sent nothing is left to send.
    const before = lab.store.getState().sent[sessionId];
    if (before && before.state !== 'sent') report(null);
    return;
  }
  const places = assignments.filter(a => a.session === sessionId).map(a => a.place);
  const role = places.length > 0 && places.every(p => p === 'settles') ? 'adjudicator' : 'rater';
  const revision = (await readStudyRevision(signedIn.remote))?.revision ?? null;
  if (places.includes('settles')) await takeOthers(library, signedIn, revision, sessionId);
  const chosen = chosenHead(revision, signedIn.user, sessionId);
  let isSignedOff = signedOff.has(sessionId);
  for (;;) {
    const log = await ownLog(library, sessionId, signedIn.user, role);
    if (!log) return;
    const before = lab.store.getState().sent[sessionId];
    report({ state: 'sending' });
    const seen = await seenEntries(library, signedIn, sessionId);
    const sent = await sendLog(signedIn.remote, log, { seen, signedOff: isSignedOff, chosen });
    // What another machine added is taken in, and the rest is done as by whoever added it.
    if (sent.state === 'behind' && open === null && (await takeOwn(library, sent.log))) continue;
    if (sent.state !== 'sent') {
      const { words, own } = notSent(log, sent);
      // Said once: it is asked again and again, and its state stands beside the review all the time.
      if (before?.state !== 'not sent' || before.why !== own.why) ui.notify(words);
      report(own);
      return;
    }
    await noteSeen(library, signedIn, sessionId, sent.count);
    if (isFinished(log) && !isSignedOff) {
      await signOff(lab, signedIn, log, now().toISOString());
      isSignedOff = true;
    }
    if (isSignedOff) {
      await takeOthers(library, signedIn, revision, sessionId);
      if (open) await showOthers(library, open);
    }
    report({ state: 'sent', entries: sent.count });
    return;
  }
}

/** The log on disk; an empty one for a session that is here and not begun; null for a session that is not here. */
async function ownLog(
  library: Library,
  sessionId: string,
  rater: string,
  role: LogHeader['role'],
): Promise<EditLog | null> {
  const stored = await library.log(sessionId, rater);
  if (stored) return stored;
  const session = await library.session(sessionId);
  return session && newLog(logHeader(session, rater, role));
}

/** Puts what another machine of the rater added on the disk; false while the review is open, under which it must not grow. */
async function takeOwn(library: Library, log: EditLog): Promise<boolean> {
  const { session, rater } = log.header;
  const lock = await lockBriefly(session, rater);
  try {
    return lock.held && (await library.addLog(log)) !== 'differs';
  } finally {
    lock.release();
  }
}

interface NotSent {
  /** To the rater, once. */
  readonly words: string;
  readonly own: Extract<SentState, { state: 'not sent' }>;
}

function notSent({ header: { session } }: EditLog, sent: Exclude<Sent, { state: 'sent' }>): NotSent {
  const because = (why: string, words: string): NotSent => ({
    words: `${session}: ${words}`,
    own: { state: 'not sent', why },
  });
  const settled = ({ words, own }: NotSent): NotSent => ({ words, own: { ...own, settle: true } });
  switch (sent.state) {
    case 'behind':
      return because(
        'continued on another machine',
        'another machine has continued this review. Leave it, here or in the other tab, and open it again.',
      );
    case 'shrunk':
      return because(
        'the stored copy became shorter',
        `the store once held ${sent.was} entries of this review and now holds ${sent.now}. Tell the supervisor; your own copy is complete.`,
      );
    case 'fork':
      return settled(
        because(
          'forked',
          `two machines went on from entry ${sent.sharedEntries} of this review. Both are stored; the supervisor chooses which one counts.`,
        ),
      );
    case 'other branch chosen':
      return settled(
        because(
          'another machine’s review counts',
          'the supervisor chose the review of another machine. Export this one, remove the session here and fetch it again.',
        ),
      );
  }
}

async function signOff(lab: LabStore, signedIn: SignedIn, log: EditLog, at: string): Promise<void> {
  const { state } = await signOffLog(signedIn.remote, log, at);
  lab.store.setState(s => (s.signedIn === signedIn ? { signedOff: new Set(s.signedOff).add(log.header.session) } : s));
  if (state === 'signed off elsewhere') throw new Error('another machine signed off another state of this review');
}

/** Logs of all raters whom the study names; those who have not begun have none. */
async function takeOthers(
  library: Library,
  { remote, user }: SignedIn,
  revision: StudyRevision | null,
  sessionId: string,
): Promise<void> {
  const raters = new Set(revision?.draws.filter(d => d.sessions.includes(sessionId)).flatMap(d => d.raters) ?? []);
  raters.delete(user);
  for (const rater of raters) {
    const counted = await readCountedLog(remote, revision, rater, sessionId).catch(refusedAsNull);
    // One branch alone can be taken for the review; and only what is signed off is a second rating.
    if (counted && holdsSignOff(counted)) await library.addLog(counted.branches[0]!);
  }
}

/** The server shows a settler a log once its rater has signed it off. */
function refusedAsNull(error: unknown): null {
  if (error instanceof RemoteError && error.problem === 'refused') return null;
  throw error;
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
