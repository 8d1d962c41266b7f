import type { EditLog, LogEntry, LogHeader } from '../core/marks/log';
import type { Session } from '../core/review/session';
import { type Collection, collection } from '../storage/collection';
import type { Database } from '../storage/database';
import { removeFetchedParts } from '../storage/fetched-parts';
import {
  type AddedLog,
  addLog,
  addLogs,
  appendEntry,
  foldLog,
  listRaters,
  readLog,
  readLogHeader,
  removeLog,
  replaceLog,
} from '../storage/logs';
import { askToPersist } from '../storage/persistence';
import {
  type CatalogueEntry,
  changeSession,
  deleteSession,
  listSessions,
  readSession,
  saveSession,
} from '../storage/sessions';
import { openSignalStore, type SignalStore } from '../storage/signals';
import { openStoreOrMemory } from '../storage/without-disk';
import type { LeadSource, StoredLeads } from './review/signals';
import type { ViewState } from './stores/view-store';

/** Everything this browser keeps for the page. Failures are StorageProblems, whose words can be shown as they are. */
export interface Library {
  sessions(): Promise<readonly CatalogueEntry[]>;
  session(id: string): Promise<Session | null>;
  saveSession(session: Session): Promise<void>;
  /** Changes what is stored of it by now, or it where nothing is; answers what is stored then. */
  changeSession(session: Session, change: (session: Session) => Session): Promise<Session>;
  removeSession(id: string): Promise<void>;
  log(session: string, rater: string): Promise<EditLog | null>;
  raters(session: string): Promise<readonly string[]>;
  /** Who wrote a log and as what, without any of its entries. */
  logHeader(session: string, rater: string): Promise<LogHeader | null>;
  addLog(log: EditLog): Promise<AddedLog>;
  /** All of them or, where one differs from what is kept, none. */
  addLogs(logs: readonly EditLog[]): Promise<readonly AddedLog[]>;
  /** Puts a log in the place of another of the same session, or changes nothing. */
  replaceLog(old: EditLog, log: EditLog): Promise<void>;
  removeLog(log: EditLog): Promise<void>;
  saveEntry(header: LogHeader, entry: LogEntry): Promise<void>;
  foldLog(session: string, rater: string): Promise<number>;
  /** Leads by recording; the names of those that are not stored in full. */
  leads(session: Session): Promise<{ sources: Map<string, StoredLeads>; absent: string[] }>;
  readonly views: () => Promise<Collection<SavedView>>;
  signals(): Promise<SignalStore>;
  database(): Promise<Database>;
}

/** For functions that need the library and little else. */
export interface HasLibrary {
  readonly library: Library;
}

/** Where a rater was in a session. */
export type SavedView = Pick<
  ViewState,
  'recordingId' | 'caret' | 'mmPerSecond' | 'mmPerMv' | 'rows' | 'leads' | 'bothRecorders' | 'filters' | 'segmentOnly'
> & {
  /** `startSeconds` of the view, under the name that stores have had from the beginning. */
  readonly startSec: number;
};

export function createLibrary(): Library {
  const database = once(openStoreOrMemory);
  // The store decides first whether there is a disk to write on.
  const signals = once(async () => {
    await database();
    return openSignalStore();
  });
  let asked = false;
  return {
    database,
    signals,
    views: async () => collection<SavedView>(await database(), 'view'),
    sessions: async () => listSessions(await database()),
    session: async id => readSession(await database(), id),
    async saveSession(session) {
      await saveSession(await database(), session, new Date().toISOString());
      if (!asked) void askToPersist();
      asked = true;
    },
    changeSession: async (session, change) =>
      changeSession(await database(), session, change, new Date().toISOString()),
    async removeSession(id) {
      await deleteSession(await database(), id);
      await (await signals()).remove(id);
      await removeFetchedParts(id);
    },
    log: async (session, rater) => readLog(await database(), session, rater),
    raters: async session => listRaters(await database(), session),
    logHeader: async (session, rater) => readLogHeader(await database(), session, rater),
    addLog: async log => addLog(await database(), log),
    addLogs: async logs => addLogs(await database(), logs),
    replaceLog: async (old, log) => replaceLog(await database(), old, log),
    removeLog: async log => removeLog(await database(), log),
    saveEntry: async (header, entry) => appendEntry(await database(), header, entry),
    foldLog: async (session, rater) => foldLog(await database(), session, rater),
    leads: async session => findLeads(await signals(), session),
  };
}

/** Opens once and shares it; after a failure the next call tries again. */
function once<T>(make: () => Promise<T>): () => Promise<T> {
  let made: Promise<T> | null = null;
  return () => {
    made ??= make().catch(error => {
      made = null;
      throw error;
    });
    return made;
  };
}

async function findLeads(store: SignalStore, session: Session) {
  const sources = new Map<string, StoredLeads>();
  const absent: string[] = [];
  for (const { recording } of session.recordings) {
    const found: (LeadSource | undefined)[] = [];
    for (const [i, lead] of recording.leads.entries()) {
      const id = { session: session.id, recording: recording.id, lead: i };
      const pyramid = (await store.holds(id, lead)) ? await store.pyramid(id) : null;
      found.push(pyramid ? { lead, samples: store.lead(id, lead), pyramid } : undefined);
      if (!pyramid) absent.push(`${recording.recorder}, lead ${lead.name}`);
    }
    sources.set(recording.id, found);
  }
  return { sources, absent };
}
