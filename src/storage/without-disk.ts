import { type Database, openDatabase } from './database';
import { createMemoryDatabase } from './memory-database';
import { createMemoryFiles } from './memory-files';
import { StorageProblem } from './problem';
import type { SignalFiles } from './signal-files';

/**
 * A page that may keep nothing works in memory. All of it or none: a session whose signals were on disk and whose marks
 * were not would be left over by the next visit.
 */
interface WithoutDisk {
  readonly why: StorageProblem;
  readonly database: Database;
  readonly files: SignalFiles;
}

let without: WithoutDisk | null = null;
const listeners = new Set<(why: StorageProblem) => void>();

/** Null as long as the page keeps what it is given. */
export function withoutDisk(): WithoutDisk | null {
  return without;
}

/** Calls back when the page begins to work in memory, at once if it does already. */
export function onWithoutDisk(listener: (why: StorageProblem) => void): void {
  listeners.add(listener);
  if (without) listener(without.why);
}

/** The page waits for its store, which does not open. */
interface StoreWait {
  /** Works in memory from here on. */
  giveUp(): void;
}

let wait: StoreWait | null = null;
const waitListeners = new Set<(wait: StoreWait | null) => void>();

/** Calls back when the page begins to wait for its store, at once if it does already; with null when that is over. */
export function onStoreWait(listener: (wait: StoreWait | null) => void): void {
  waitListeners.add(listener);
  if (wait) listener(wait);
}

function setWait(now: StoreWait | null): void {
  if (now === wait) return;
  wait = now;
  for (const listener of waitListeners) listener(now);
}

/** The store in use: on disk, unless the page works in memory. */
export async function openStore(whenLate?: () => Promise<never>): Promise<Database> {
  return without?.database ?? openDatabase(whenLate ? { whenLate } : {});
}

/**
 * As `openStore`, for the page itself: where the browser keeps nothing, memory serves. A store that another tab holds, or
 * that a machine under load is slow to open, is waited for until the person gives it up: what is done in memory is lost
 * with the tab, and no load ends that once it has begun.
 */
export async function openStoreOrMemory(): Promise<Database> {
  const whenLate = () =>
    new Promise<never>((_, reject) => setWait({ giveUp: () => reject(new StorageProblem('blocked')) }));
  try {
    return await openStore(whenLate);
  } catch (error) {
    const instead = error instanceof StorageProblem && (error.kind === 'denied' || error.kind === 'blocked');
    if (!instead) throw error;
    without ??= { why: error, database: createMemoryDatabase(), files: createMemoryFiles() };
    for (const listener of listeners) listener(without.why);
    return without.database;
  } finally {
    setWait(null);
  }
}
