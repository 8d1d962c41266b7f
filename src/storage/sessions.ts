import { durationSeconds } from '../core/recording/recording';
import { distinctSegments } from '../core/recording/segment-names';
import type { Session } from '../core/review/session';
import { answer, type Database, valuesUnder } from './database';
import { sessionKinds, storageKey, under } from './keys';

/** What the start screen shows of a session without loading its marks. */
export interface CatalogueEntry {
  readonly id: string;
  readonly title: string;
  readonly participant: string;
  readonly recorders: readonly string[];
  readonly durationSeconds: number;
  readonly markCount: number;
  readonly segmentNames: readonly string[];
  /** Checksums of the signals, to point out one that is imported again; absent in entries from before they were kept. */
  readonly signals?: readonly string[];
  /** ISO 8601 in UTC. */
  readonly savedAt: string;
}

/** As it is stored: the length has had a name of its own from the beginning. */
type StoredEntry = Omit<CatalogueEntry, 'durationSeconds'> & { readonly durationSec: number };

/** Stores the session without its signals; replaces an older copy. */
export function saveSession(database: Database, session: Session, savedAt: string): Promise<void> {
  return database.write(async store => {
    store.put(session, storageKey.session(session.id));
    store.put(catalogueEntry(session, savedAt), storageKey.catalogue(session.id));
  });
}

/**
 * Changes what is stored of a session, which another tab may have changed since `session` was read, in one transaction;
 * `session` itself where nothing is stored. Answers what is stored now.
 */
export function changeSession(
  database: Database,
  session: Session,
  change: (session: Session) => Session,
  savedAt: string,
): Promise<Session> {
  return database.write(async store => {
    const found = await answer(store.get(storageKey.session(session.id)) as IDBRequest<Session | undefined>);
    const changed = change(found ? withDistinctSegments(found) : session);
    store.put(changed, storageKey.session(session.id));
    store.put(catalogueEntry(changed, savedAt), storageKey.catalogue(session.id));
    return changed;
  });
}

export async function readSession(database: Database, id: string): Promise<Session | null> {
  const found = await database.read(store =>
    answer(store.get(storageKey.session(id)) as IDBRequest<Session | undefined>),
  );
  return found ? withDistinctSegments(found) : null;
}

/** Sessions were once kept with one name for two segments. */
function withDistinctSegments(session: Session): Session {
  const recordings = session.recordings.map(r => ({ ...r, segments: distinctSegments(r.segments).segments }));
  return { ...session, recordings };
}

/** Newest first. */
export async function listSessions(database: Database): Promise<readonly CatalogueEntry[]> {
  const all = await database.read(store => valuesUnder<StoredEntry>(store, 'catalogue'));
  const entries = all.map(({ durationSec, ...entry }): CatalogueEntry => ({ ...entry, durationSeconds: durationSec }));
  return entries.sort((a, b) => (a.savedAt < b.savedAt ? 1 : -1));
}

/** Removes the session, its logs, its view and its import record in one transaction. Signals: see `SignalStore.remove`. */
export function deleteSession(database: Database, id: string): Promise<void> {
  return database.write(async store => {
    for (const kind of sessionKinds) store.delete(under(kind, id));
  });
}

function catalogueEntry(session: Session, savedAt: string): StoredEntry {
  const { recordings } = session;
  return {
    id: session.id,
    title: session.title,
    participant: session.participant,
    recorders: recordings.map(r => r.recording.recorder),
    durationSec: Math.max(0, ...recordings.map(r => durationSeconds(r.recording))),
    markCount: recordings.reduce((n, r) => n + r.detected.length, 0),
    segmentNames: [...new Set(recordings.flatMap(r => r.segments.map(s => s.name)))],
    signals: recordings.flatMap(r => r.recording.origin?.signalSha256 || []),
    savedAt,
  };
}
