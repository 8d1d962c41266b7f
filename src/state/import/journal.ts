import { idFrom } from '../../formats/opened';
import { type ImportRecord, importRecords } from '../../storage/imports';
import { lockSession } from '../../storage/locks';
import type { HasLibrary } from '../library';

/**
 * What an import leaves behind in the store while it runs, so that one that was cut off can be found: a record for each
 * signal. A lock tells it from an import that another tab is busy with.
 */
export interface ImportJournal {
  readonly session: string;
  begin(recording: string, file: File): Promise<void>;
  /** Keeps how far it is, 0 to 1; at most once a second. */
  progress(recording: string, share: number): void;
  /** Takes away the signals and the record of one recording. */
  drop(recording: string): Promise<void>;
  /** The session is stored: nothing is left to be found. */
  end(): Promise<void>;
  /** Releases what is left as it is; after `end` and `remove` there is nothing to release. */
  release(): void;
  /** Takes away signals and records. */
  remove(): Promise<void>;
}

const lockName = 'import';

export interface Journalling extends HasLibrary {
  now(): Date;
}

/** Another import of the same session is under way; nothing of it may be touched. */
class ImportUnderWay extends Error {}

/** Under an id that is not taken. */
export async function openJournal(app: Journalling, title: string): Promise<ImportJournal> {
  const records = importRecords(await app.library.database());
  const taken = [...(await app.library.sessions()).map(s => s.id), ...(await records.list()).map(r => r.session)];
  for (;;) {
    const id = freeId(idFrom(`${title}.`), taken);
    try {
      return await openJournalOf(app, id);
    } catch (error) {
      // Begun in another tab a moment ago.
      if (!(error instanceof ImportUnderWay)) throw error;
      taken.push(id);
    }
  }
}

/**
 * Under an id that is given; what an earlier attempt left behind is written over. Throws ImportUnderWay while another
 * import into the session is running.
 */
export async function openJournalOf(app: Journalling, session: string): Promise<ImportJournal> {
  const records = importRecords(await app.library.database());
  const lock = await lockSession(session, lockName);
  if (!lock.held) {
    lock.release();
    throw new ImportUnderWay(`${session} is being imported already, here or in another tab: wait until that is done.`);
  }
  const known = new Map<string, ImportRecord>();
  let keptAt = 0;
  const end = async () => {
    for (const recording of known.keys()) await records.remove(session, recording);
    lock.release();
  };
  return {
    session,
    async begin(recording, file) {
      const startedAt = app.now().toISOString();
      const record = { session, recording, fileName: file.name, fileBytes: file.size, startedAt, doneBytes: 0 };
      known.set(recording, record);
      await (await app.library.signals()).remove(session, recording);
      await records.put(record, session, recording);
    },
    progress(recording, share) {
      const record = known.get(recording);
      const now = app.now().getTime();
      // A clock that was set back must not stop the reports.
      if (!record || Math.abs(now - keptAt) < 1000) return;
      keptAt = now;
      // A file that is unpacked or made into a table is read by other bytes than it has.
      const doneBytes = Math.round(Math.min(1, share) * record.fileBytes);
      // How far it was is a convenience: losing it is not worth a word.
      void records.put({ ...record, doneBytes }, session, recording).catch(() => undefined);
    },
    async drop(recording) {
      if (!known.delete(recording)) return;
      await (await app.library.signals()).remove(session, recording);
      await records.remove(session, recording);
    },
    end,
    release: lock.release,
    async remove() {
      await (await app.library.signals()).remove(session);
      await end();
    },
  };
}

function freeId(wanted: string, taken: readonly string[]): string {
  for (let n = 1; ; n++) {
    const id = n === 1 ? wanted : `${wanted}-${n}`;
    if (!taken.includes(id)) return id;
  }
}

/** A file whose import ended with its tab. */
export interface Interrupted {
  readonly session: string;
  readonly fileName: string;
  /** 0 to 1. */
  readonly share: number;
  /** One for each recording of the file. */
  readonly records: readonly ImportRecord[];
}

/** Those whose lock nobody holds. */
export async function interruptedImports(app: HasLibrary): Promise<readonly Interrupted[]> {
  const found = new Map<string, Interrupted>();
  const records = await importRecords(await app.library.database()).list();
  const free = new Set<string>();
  for (const session of new Set(records.map(r => r.session))) {
    const lock = await lockSession(session, lockName);
    lock.release();
    if (lock.held) free.add(session);
  }
  for (const record of records.filter(r => free.has(r.session))) {
    const { session, fileName, fileBytes, doneBytes } = record;
    const key = `${session}/${fileName}`;
    const share = Math.max(found.get(key)?.share ?? 0, fileBytes > 0 ? Math.min(1, doneBytes / fileBytes) : 0);
    found.set(key, { session, fileName, share, records: [...(found.get(key)?.records ?? []), record] });
  }
  return [...found.values()];
}

export async function removeInterrupted(app: HasLibrary, { session, records }: Interrupted): Promise<void> {
  // The tab may have gone between storing the session and saying so.
  const stored = await app.library.session(session);
  for (const { recording } of records) {
    const whole = stored?.recordings.some(r => r.recording.id === recording) ?? false;
    if (!whole) await (await app.library.signals()).remove(session, recording);
    await importRecords(await app.library.database()).remove(session, recording);
  }
}
