import {
  asWritten,
  canonicalJson,
  type EditLog,
  type LogEntry,
  type LogHeader,
  type WrittenEntry,
} from '../core/marks/log';
import { upgradeEntry } from '../core/marks/upgrade-entry';
import { answer, type Database, valuesUnder } from './database';
import { type StorageKey, storageKey, under } from './keys';
import { StorageProblem } from './problem';

/**
 * A rater's log: a head, old entries folded into arrays, and one record for each entry since. Appending touches one small
 * record, so a key press costs the same in a long log as in a short one; reading few arrays is ten times faster than
 * reading many records.
 */
interface LogHead {
  readonly header: LogHeader;
  /** Entries `[0, foldedCount)` live in arrays. */
  readonly foldedCount: number;
  /** Hash of the last folded entry; null when none is folded. */
  readonly foldedHash: string | null;
}

/** Entries in one folded array. */
const foldSize = 2000;

/**
 * Appends one entry; resolves when it is committed. A StorageProblem 'conflict' says that the entry does not follow what
 * is stored: another tab has written, or an earlier entry was not kept; 'removed' that nothing of the log is left.
 */
export function appendEntry(database: Database, header: LogHeader, entry: LogEntry): Promise<void> {
  return database.write(async store => {
    // All is asked for at once and judged as the answers come, in this order: waiting for each would take four times as
    // long until the entry is on the disk. What does not fit is taken back with the whole transaction.
    const head = headFor(store, header);
    const last = entryAt(store, header, entry.seq - 1);
    const added = answer(store.add(asWritten(entry), storageKey.entry(header.session, header.rater, entry.seq)));
    for (const asked of [last, added]) asked.catch(() => undefined);
    if (!follows(entry, await head, await last)) {
      const alone = (await head).foldedCount === 0 && (await isAlone(store, entry, header));
      throw new StorageProblem(alone ? 'removed' : 'conflict', `entry ${entry.seq}`);
    }
    await added;
  });
}

function follows(entry: LogEntry, head: LogHead, last: WrittenEntry | undefined): boolean {
  if (entry.seq === 0) return head.foldedCount === 0;
  if (entry.seq < head.foldedCount) return false;
  return entry.previous === (entry.seq === head.foldedCount ? head.foldedHash : last?.hash);
}

/** Whether none of the entries before this one, which has just been added, is stored any more. */
async function isAlone(store: IDBObjectStore, { seq }: LogEntry, { session, rater }: LogHeader): Promise<boolean> {
  return seq > 0 && (await answer(store.count(under('entry', session, rater)))) === 1;
}

function entryAt(store: IDBObjectStore, { session, rater }: LogHeader, seq: number): Promise<WrittenEntry | undefined> {
  return answer(store.get(storageKey.entry(session, rater, seq)) as IDBRequest<WrittenEntry | undefined>);
}

/** The whole log; null when this rater has none. */
export function readLog(database: Database, session: string, rater: string): Promise<EditLog | null> {
  return database.read(store => readStoredLog(store, session, rater));
}

/** The header alone: no entry is read. */
export async function readLogHeader(database: Database, session: string, rater: string): Promise<LogHeader | null> {
  return (await database.read(store => readHead(store, session, rater)))?.header ?? null;
}

/** Codes of the raters who have a log, without reading any of the logs. */
export async function listRaters(database: Database, session: string): Promise<readonly string[]> {
  const keys = await database.read(store => answer(store.getAllKeys(under('log', session))));
  return keys.map(key => String((key as StorageKey)[2]));
}

/** Folds whole arrays' worth of entries; call it on opening a log for writing. Returns how many were folded. */
export function foldLog(database: Database, session: string, rater: string): Promise<number> {
  return database.write(async store => {
    const head = await readHead(store, session, rater);
    if (!head) return 0;
    const loose = await valuesUnder<WrittenEntry>(store, 'entry', session, rater);
    const count = loose.length - (loose.length % foldSize);
    if (count > 0) fold(store, head, loose.slice(0, count));
    return count;
  });
}

export type AddedLog = 'added' | 'extended' | 'same' | 'differs';

/** Adds a log that came in a file. One already there is never rewritten: it is extended when the new one continues it. */
export function addLog(database: Database, log: EditLog): Promise<AddedLog> {
  return database.write(store => addInto(store, log));
}

/** Adds several, or none: where one differs from what is stored, a StorageProblem 'conflict' says so. */
export function addLogs(database: Database, logs: readonly EditLog[]): Promise<readonly AddedLog[]> {
  return database.write(async store => {
    const added: AddedLog[] = [];
    for (const log of logs) {
      const one = await addInto(store, log);
      const { rater, session } = log.header;
      if (one === 'differs') throw new StorageProblem('conflict', `the stored log of ${rater}, ${session}, is another`);
      added.push(one);
    }
    return added;
  });
}

/**
 * Puts a log in the place of the one it grew from, under another rater's code, or changes nothing: a StorageProblem
 * 'conflict' says that the old one has grown meanwhile or that the new code has a log.
 */
export function replaceLog(database: Database, old: EditLog, log: EditLog): Promise<void> {
  return database.write(async store => {
    const { session, rater } = old.header;
    const stored = await readStoredLog(store, session, rater);
    if (relate(stored, old) !== 'same' || stored!.entries.length > old.entries.length)
      throw new StorageProblem('conflict', `the review of ${rater} has changed`);
    if (await readHead(store, session, log.header.rater))
      throw new StorageProblem('conflict', `${log.header.rater} has a review of this session`);
    store.delete(storageKey.logHead(session, rater));
    for (const kind of ['entry', 'folded'] as const) store.delete(under(kind, session, rater));
    await addInto(store, log);
  });
}

/** Takes a log away that another one holds whole. */
export function removeLog(database: Database, { header: { session, rater } }: EditLog): Promise<void> {
  return database.write(async store => {
    store.delete(storageKey.logHead(session, rater));
    for (const kind of ['entry', 'folded'] as const) store.delete(under(kind, session, rater));
  });
}

async function addInto(store: IDBObjectStore, log: EditLog): Promise<AddedLog> {
  const { session, rater } = log.header;
  const stored = await readStoredLog(store, session, rater);
  const relation = relate(stored, log);
  if (relation === 'same' || relation === 'differs') return relation;
  if (relation === 'extended') putEntries(store, log, stored?.entries.length ?? 0);
  else fold(store, { header: log.header, foldedCount: 0, foldedHash: null }, log.entries.map(asWritten));
  return relation;
}

function relate(stored: EditLog | null, log: EditLog): AddedLog {
  if (!stored) return 'added';
  const sameHeader = canonicalJson(stored.header) === canonicalJson(log.header);
  const shared = Math.min(stored.entries.length, log.entries.length);
  // Each hash covers everything before it, so comparing the last shared one compares the whole.
  const sameStart = shared === 0 || stored.entries[shared - 1]!.hash === log.entries[shared - 1]!.hash;
  if (!sameHeader || !sameStart) return 'differs';
  return log.entries.length > shared ? 'extended' : 'same';
}

function putEntries(store: IDBObjectStore, log: EditLog, from: number): void {
  const { session, rater } = log.header;
  for (const entry of log.entries.slice(from)) store.add(asWritten(entry), storageKey.entry(session, rater, entry.seq));
}

/** Moves `entries`, which follow what is folded already, into arrays. */
function fold(store: IDBObjectStore, head: LogHead, entries: readonly WrittenEntry[]): void {
  const { session, rater } = head.header;
  for (let i = 0; i < entries.length; i += foldSize) {
    store.put(entries.slice(i, i + foldSize), storageKey.folded(session, rater, head.foldedCount + i));
  }
  const foldedCount = head.foldedCount + entries.length;
  const last = storageKey.entry(session, rater, Math.max(0, foldedCount - 1));
  if (entries.length > 0) store.delete(IDBKeyRange.bound(storageKey.entry(session, rater, 0), last));
  const next: LogHead = { ...head, foldedCount, foldedHash: entries.at(-1)?.hash ?? head.foldedHash };
  store.put(next, storageKey.logHead(session, rater));
}

function readHead(store: IDBObjectStore, session: string, rater: string): Promise<LogHead | undefined> {
  return answer(store.get(storageKey.logHead(session, rater)) as IDBRequest<LogHead | undefined>);
}

async function headFor(store: IDBObjectStore, header: LogHeader): Promise<LogHead> {
  const found = await readHead(store, header.session, header.rater);
  if (found) {
    if (canonicalJson(found.header) === canonicalJson(header)) return found;
    throw new StorageProblem('conflict', `the stored log of ${header.rater} belongs to other marks`);
  }
  const head: LogHead = { header, foldedCount: 0, foldedHash: null };
  store.put(head, storageKey.logHead(header.session, header.rater));
  return head;
}

async function readStoredLog(store: IDBObjectStore, session: string, rater: string): Promise<EditLog | null> {
  const [head, folded, loose] = await Promise.all([
    readHead(store, session, rater),
    valuesUnder<WrittenEntry[]>(store, 'folded', session, rater),
    valuesUnder<WrittenEntry>(store, 'entry', session, rater),
  ]);
  return head ? { header: head.header, entries: [...folded.flat(), ...loose].map(upgradeEntry) } : null;
}
