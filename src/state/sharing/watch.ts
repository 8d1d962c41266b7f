import type { StoreApi } from 'zustand/vanilla';
import type { ReviewWorkspace } from '../review/workspace';
import { isHere, type LabStore, type SentState, type SharingParts } from './lab-store';

/** After the last entry, so that a burst of keys is sent as one file. */
const pauseMs = 2000;
/** Whoever never pauses for so long sends all the same. */
const longestMs = 20_000;
/** Between two tries for what could not be sent. */
const retryMs = 20_000;
const offline: SentState = { state: 'not sent', why: 'offline' };
const sending = () => import('./own-logs');

interface Watched extends SharingParts {
  readonly labStore: LabStore;
  readonly workspace: StoreApi<{ readonly workspace: ReviewWorkspace | null }>;
}

/** Sends the rater's logs a moment after entries are saved, and what was left unsent when the network is back. */
export function watchLabStore(parts: Watched): void {
  const { labStore, workspace } = parts;
  const waiting = new Set<string>();
  let waitingSince = 0;
  let timer: ReturnType<typeof setTimeout> | undefined;
  let running = false;
  const openReview = (session: string) => {
    const review = workspace.getState().workspace?.review;
    const { header } = review?.get().log ?? {};
    return header?.session === session && header.rater === labStore.store.getState().signedIn?.user ? review! : null;
  };
  const run = async () => {
    if (running) return;
    running = true;
    try {
      const { sendOwnLog } = await sending();
      for (const session of [...waiting]) {
        waiting.delete(session);
        await sendOwnLog(parts, labStore, session, openReview(session));
      }
    } catch {
      // The code itself could not be fetched: said like any other failure to reach the server, and tried again.
      const sessions = [...waiting];
      waiting.clear();
      await unsent(sessions);
    } finally {
      running = false;
    }
    if (waiting.size > 0) later(pauseMs);
  };
  const unsent = async (sessions: readonly string[]) => {
    const { signedIn } = labStore.store.getState();
    if (!signedIn) return;
    for (const session of sessions) {
      // Most of what is assigned may never have been fetched: of that nothing is unsent.
      if (!(await isHere(parts.library, session, signedIn.user).catch(() => true))) continue;
      labStore.store.setState(s => (s.signedIn === signedIn ? { sent: { ...s.sent, [session]: offline } } : s));
    }
  };
  const later = (ms: number) => {
    clearTimeout(timer);
    timer = setTimeout(() => void run(), Math.min(ms, Math.max(0, waitingSince + longestMs - performance.now())));
  };
  const send = (session: string, ms: number) => {
    const { signedIn, assignments } = labStore.store.getState();
    if (signedIn?.role !== 'rater' || !assignments.some(a => a.session === session)) return;
    if (waiting.size === 0) waitingSince = performance.now();
    waiting.add(session);
    // From here on the store lacks something.
    const sending: SentState = { state: 'sending' };
    labStore.store.setState(s => (s.sent[session]?.state === 'sent' ? { sent: { ...s.sent, [session]: sending } } : s));
    later(ms);
  };
  const retry = (ms: number, settled = false) => {
    const { sent, assignments } = labStore.store.getState();
    for (const { session } of assignments) {
      const state = sent[session];
      if (state === undefined || (state.state === 'not sent' && (settled || !state.settle))) send(session, ms);
    }
  };
  followEntries(workspace, send);
  labStore.store.subscribe((now, before) => {
    // For who is signed in, and for nobody else; at once, while there is a network.
    if (now.signedIn !== before.signedIn && now.signedIn?.role === 'rater') void sending().catch(() => undefined);
    // At once, or a review could be opened before what another machine added to it is here.
    if (now.assignments !== before.assignments) retry(0);
  });
  window.addEventListener('online', () => retry(pauseMs));
  window.addEventListener('visibilitychange', () => {
    // Whoever comes back sees what the supervisor has chosen meanwhile.
    if (document.visibilityState === 'visible') retry(0, true);
    // Whoever leaves may close the tab, or the browser may: what waits for a pause waits no longer.
    else if (waiting.size > 0) later(0);
  });
  setInterval(() => retry(0), retryMs);
}

/** Calls `send` when entries of the review that is open have reached the disk, and when it is left. */
function followEntries(workspace: Watched['workspace'], send: (session: string, ms: number) => void): void {
  let stop = () => {};
  const follow = () => {
    stop();
    const open = workspace.getState().workspace;
    if (open?.purpose !== 'review' && open?.purpose !== 'settle') {
      stop = () => {};
      return;
    }
    const end = open.review.subscribe((now, before) => {
      const saved = now.saving.waiting === 0 && now.saving.failure === null;
      if (saved && now.saving !== before.saving) send(now.session.id, pauseMs);
    });
    stop = () => {
      end();
      // What came last goes along; and what another machine added can be taken in now.
      void open.review.settled().then(() => send(open.review.get().session.id, 0));
    };
  };
  follow();
  workspace.subscribe(follow);
}
