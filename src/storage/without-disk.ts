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

/** The store in use: on disk, unless the page works in memory. */
export async function openStore(): Promise<Database> {
  return without?.database ?? openDatabase();
}

/** As `openStore`, for the page itself: where the browser keeps nothing or another tab holds the store, memory serves. */
export async function openStoreOrMemory(): Promise<Database> {
  try {
    return await openStore();
  } catch (error) {
    const instead = error instanceof StorageProblem && (error.kind === 'denied' || error.kind === 'blocked');
    if (!instead) throw error;
    without ??= { why: error, database: createMemoryDatabase(), files: createMemoryFiles() };
    for (const listener of listeners) listener(without.why);
    return without.database;
  }
}
