import { atOnce } from './at-once';
import { assignFolder, doneFolder, settleFolder } from './names';
import type { RemoteEntry, RemoteStore } from './remote-store';
import type { LogPlaces } from './stored-log';

/** Folders as they were listed last, by path, with the tag that the folder above gave them before that. */
export type ListedFolders = Map<string, { readonly tag: string; readonly entries: readonly RemoteEntry[] }>;

export interface ListedAssignment {
  readonly rater: string;
  readonly session: string;
  readonly path: string;
}

export interface ListedLog extends LogPlaces {
  /** The same as long as nothing was added to the log; null where the server does not say. */
  readonly tag: string | null;
}

/** Who has what to do in a study and how each log stands, from listings alone. */
export interface StudyListing {
  readonly assignments: readonly ListedAssignment[];
  logOf(rater: string, session: string): ListedLog;
}

/**
 * Lists a study for who may see all of it. A folder whose tag stands is not listed again; the log folders of each rater
 * always are, as an entry added to a log changes only the tag of that log's own folder.
 */
export async function listStudy(store: RemoteStore, memory: ListedFolders): Promise<StudyListing> {
  const [assign, settle, logs, done, after] = await atOnce(
    ['assign/', 'settle/', 'logs/', 'done/', 'after/'],
    async top => namesIn((await store.list(top)) ?? []),
  );
  const listing = new Listing(store, memory);
  const raters = [...new Set([...assign!.keys(), ...settle!.keys()])].sort();
  const people = await atOnce(raters, async rater => {
    const found = {
      rater,
      assign: await listing.unchanged(assignFolder(rater), assign!.get(rater)),
      settle: await listing.unchanged(settleFolder(rater), settle!.get(rater)),
      done: namesIn(await listing.unchanged(doneFolder(rater), done!.get(rater))),
      logs: namesIn(await listing.current(`logs/${rater}/`, logs!.get(rater))),
      after: namesIn(await listing.current(`after/${rater}/`, after!.get(rater))),
    };
    return found;
  });
  const byRater = new Map(people.map(p => [p.rater, p]));
  return {
    assignments: people.flatMap(p => [
      ...assignmentsIn(p.rater, assignFolder(p.rater), p.assign),
      ...assignmentsIn(p.rater, settleFolder(p.rater), p.settle),
    ]),
    logOf(rater, session) {
      const own = byRater.get(rater);
      return listedLog(own?.logs.get(session), own?.after.get(session), own?.done.has(`${session}.json`) === true);
    },
  };
}

class Listing {
  constructor(
    private readonly store: RemoteStore,
    private readonly memory: ListedFolders,
  ) {}

  /** A folder of files, which is as it was while its tag stands. */
  async unchanged(path: string, entry: RemoteEntry | undefined): Promise<readonly RemoteEntry[]> {
    if (!entry) return [];
    const kept = this.memory.get(path);
    if (kept && entry.tag !== '' && kept.tag === entry.tag) return kept.entries;
    const entries = (await this.store.list(path)) ?? [];
    this.memory.set(path, { tag: entry.tag, entries });
    return entries;
  }

  /** A folder of folders, whose tags are to be seen: only an empty one needs no second look. */
  async current(path: string, entry: RemoteEntry | undefined): Promise<readonly RemoteEntry[]> {
    const kept = this.memory.get(path);
    if (kept && kept.entries.length > 0) this.memory.delete(path);
    return this.unchanged(path, entry);
  }
}

function namesIn(entries: readonly RemoteEntry[]): ReadonlyMap<string, RemoteEntry> {
  return new Map(entries.map(e => [e.name, e]));
}

function assignmentsIn(rater: string, folder: string, entries: readonly RemoteEntry[]): ListedAssignment[] {
  const named = entries.filter(e => !e.isFolder && e.name.endsWith('.json'));
  return named.map(({ name }) => ({ rater, session: name.slice(0, -'.json'.length), path: folder + name }));
}

function listedLog(log: RemoteEntry | undefined, after: RemoteEntry | undefined, signOff: boolean): ListedLog {
  const places = { log: log !== undefined, after: after !== undefined, signOff };
  const tags = [log, after].map(e => e?.tag ?? 'none');
  return { ...places, tag: tags.includes('') ? null : [...tags, signOff].join(' ') };
}
