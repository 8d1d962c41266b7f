import type { StoreApi } from 'zustand/vanilla';
import type { ReviewWorkspace } from '../review/workspace';
import type { LabStore, SentState, SharingParts } from './lab-store';

/** After the last entry, so that a burst of keys is sent as one file. */
const pauseMs = 2000;
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
  let timer: ReturnType<typeof setTimeout> | undefined;
  let running = false;
  const openReview = (session: string) => {
    const review = workspace.getState().workspace?.review;
    return review?.get().session.id === session ? review : null;
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
      unsent(waiting);
      waiting.clear();
    } finally {
      running = false;
    }
    if (waiting.size > 0) later();
  };
  const unsent = (sessions: Iterable<string>) => {
    const states = Object.fromEntries([...sessions].map(session => [session, offline]));
    labStore.store.setState(s => (s.signedIn ? { sent: { ...s.sent, ...states } } : s));
  };
  const later = () => {
    clearTimeout(timer);
    timer = setTimeout(() => void run(), pauseMs);
  };
  const send = (session: string) => {
    const { signedIn, assignments } = labStore.store.getState();
    if (signedIn?.role !== 'rater' || !assignments.some(a => a.session === session)) return;
    waiting.add(session);
    later();
  };
  const retry = () => {
    const { sent, assignments } = labStore.store.getState();
    for (const { session } of assignments) {
      const state = sent[session];
      if (state === undefined || (state.state === 'not sent' && state.why !== 'forked')) send(session);
    }
  };
  followEntries(workspace, send);
  labStore.store.subscribe((now, before) => {
    // For who is signed in, and for nobody else; at once, while there is a network.
    if (now.signedIn !== before.signedIn && now.signedIn?.role === 'rater') void sending().catch(() => undefined);
    if (now.assignments !== before.assignments) retry();
  });
  window.addEventListener('online', retry);
  setInterval(retry, retryMs);
}

/** Calls `send` when entries of the review that is open have reached the disk. */
function followEntries(workspace: Watched['workspace'], send: (session: string) => void): void {
  let stop = () => {};
  const follow = () => {
    stop();
    const open = workspace.getState().workspace;
    stop =
      open && (open.purpose === 'review' || open.purpose === 'settle')
        ? open.review.subscribe((now, before) => {
            const saved = now.saving.waiting === 0 && now.saving.failure === null;
            if (saved && now.saving !== before.saving) send(now.session.id);
          })
        : () => {};
  };
  follow();
  workspace.subscribe(follow);
}
