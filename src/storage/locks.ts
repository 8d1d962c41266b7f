/** Write access to one rater's review of one session. */
export interface SessionLock {
  /** False when another tab has it. */
  readonly held: boolean;
  /** What the lock is held for is being closed: whoever asks for it in this tab waits for that. */
  leave(): void;
  /** Lets go, or stops waiting. */
  release(): void;
}

const nameOf = (session: string, rater: string) => `beat-ledger/${session}/${rater}`;

/** Locks that this tab is about to let go, by name; each resolves when the lock is free. */
const leaving = new Map<string, Promise<unknown>>();

function leave(name: string, free: Promise<unknown>): void {
  const gone = Promise.allSettled([leaving.get(name), free]).then(() => {
    if (leaving.get(name) === gone) leaving.delete(name);
  });
  leaving.set(name, gone);
}

/**
 * One writer per session and rater across tabs. When another tab has the lock, `onHandover` (if given) is called with the
 * lock once that tab lets go; the log must be read again then. `left` is aborted when nobody wants any more what is opened
 * under the lock: it is then as good as being closed. Web Locks need a secure context (https or localhost); without them
 * the lock is granted, and a second writer is caught when its entry collides with a stored one.
 */
export async function lockSession(
  session: string,
  rater: string,
  onHandover?: (lock: SessionLock) => void,
  left?: AbortSignal,
): Promise<SessionLock> {
  const name = nameOf(session, rater);
  if (!navigator.locks) return { ...notHeld, held: true };
  while (leaving.has(name)) await leaving.get(name);
  const { granted, free } = take(name, { ifAvailable: true });
  if (left?.aborted) leave(name, free);
  left?.addEventListener('abort', () => leave(name, free), { once: true });
  const first = await granted;
  if (first.held || !onHandover) return first;
  const stop = new AbortController();
  let later: SessionLock | null = null;
  take(name, { signal: stop.signal }).granted.then(
    lock => {
      later = lock;
      if (stop.signal.aborted) lock.release();
      else onHandover(lock);
    },
    () => undefined,
  );
  return {
    ...notHeld,
    leave: () => later?.leave(),
    release: () => {
      stop.abort();
      later?.release();
    },
  };
}

/**
 * As `lockSession`, for what is soon done: whoever asks for the lock in this tab meanwhile waits. Who takes several takes
 * them in one order, or two may wait for each other.
 */
export function lockBriefly(session: string, rater: string): Promise<SessionLock> {
  // From the first moment on: two that ask at once would otherwise both come before the other waits.
  return lockSession(session, rater, undefined, AbortSignal.abort());
}

/** Whether a tab, this one included, has a review of the session open for writing; false where browsers cannot tell. */
export async function isOpenSomewhere(session: string): Promise<boolean> {
  const isOf = (name: string) => name.startsWith(nameOf(session, ''));
  await Promise.all([...leaving].flatMap(([name, gone]) => (isOf(name) ? gone : [])));
  const { held = [] } = (await navigator.locks?.query()) ?? {};
  return held.some(lock => isOf(lock.name ?? ''));
}

/** Opens something under a lock; when that fails the lock is released, so that the next try finds it free. */
export async function openUnder<T>(lock: SessionLock | null, open: () => Promise<T>): Promise<T> {
  try {
    return await open();
  } catch (error) {
    lock?.release();
    throw error;
  }
}

const notHeld: SessionLock = { held: false, leave: () => undefined, release: () => undefined };

/** `free` settles when the lock is free again, or was not given. */
function take(
  name: string,
  options: LockOptions,
): { readonly granted: Promise<SessionLock>; readonly free: Promise<unknown> } {
  let free: Promise<unknown> = Promise.resolve();
  const granted = new Promise<SessionLock>((resolve, reject) => {
    free = navigator.locks.request(name, options, lock => {
      if (!lock) return resolve(notHeld);
      return new Promise<void>(release => {
        resolve({ held: true, leave: () => leave(name, free), release: () => release() });
      });
    });
    free.catch(reject);
  });
  return { granted, free };
}
