/** Write access to one rater's review of one session. */
export interface SessionLock {
  /** False when another tab has it. */
  readonly held: boolean;
  /** Lets go, or stops waiting. */
  release(): void;
}

const nameOf = (session: string, rater: string) => `beat-ledger/${session}/${rater}`;

/**
 * One writer per session and rater across tabs. When another tab has the lock, `onHandover` (if given) is called with the
 * lock once that tab lets go; the log must be read again then. Web Locks need a secure context (https or localhost);
 * without them the lock is granted, and a second writer is caught when its entry collides with a stored one.
 */
export async function lockSession(
  session: string,
  rater: string,
  onHandover?: (lock: SessionLock) => void,
): Promise<SessionLock> {
  const name = nameOf(session, rater);
  if (!navigator.locks) return { held: true, release: () => undefined };
  const first = await take(name, { ifAvailable: true });
  if (first.held || !onHandover) return first;
  const stop = new AbortController();
  let later: SessionLock | null = null;
  take(name, { signal: stop.signal }).then(
    lock => {
      later = lock;
      if (stop.signal.aborted) lock.release();
      else onHandover(lock);
    },
    () => undefined,
  );
  return {
    held: false,
    release: () => {
      stop.abort();
      later?.release();
    },
  };
}

/** Whether a tab, this one included, has a review of the session open for writing; false where browsers cannot tell. */
export async function isOpenSomewhere(session: string): Promise<boolean> {
  const { held = [] } = (await navigator.locks?.query()) ?? {};
  return held.some(lock => lock.name?.startsWith(nameOf(session, '')));
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

function take(name: string, options: LockOptions): Promise<SessionLock> {
  return new Promise((resolve, reject) => {
    navigator.locks
      .request(name, options, lock => {
        if (!lock) return resolve({ held: false, release: () => undefined });
        return new Promise<void>(release => resolve({ held: true, release: () => release() }));
      })
      .catch(reject);
  });
}
