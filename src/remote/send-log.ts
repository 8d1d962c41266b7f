import type { EditLog, LogEntry } from '../core/marks/log';
import { logLines } from '../formats/bundle/layout';
import { afterFolder, type Chunk, chunkOf, logFolder } from './names';
import { RemoteError } from './remote-error';
import type { RemoteStore } from './remote-store';
import { listChunks, readStoredLog } from './stored-log';

export type Sent =
  /** The store holds every entry. */
  | { readonly state: 'sent'; readonly count: number }
  /** The store holds a longer log that continues this one: another machine of the rater has gone on. */
  | { readonly state: 'behind'; readonly log: EditLog }
  /** Two machines went on from the same entry. All branches are stored; which of them counts is the supervisor's choice. */
  | { readonly state: 'fork'; readonly branches: readonly EditLog[]; readonly sharedEntries: number }
  /** The supervisor chose a branch that this log is not on. */
  | { readonly state: 'other branch chosen'; readonly log: EditLog }
  /** The store once held more of this log. Nothing was sent. */
  | { readonly state: 'shrunk'; readonly was: number; readonly now: number };

export interface SendOptions {
  /** Entries that the store was seen to hold before. */
  readonly seen: number;
  /** Sends a log again whose stored copy has become shorter, after the person was warned. */
  readonly again?: boolean;
  /** Whether the rater has signed off: what the store lacks then goes to the folder of later entries. */
  readonly signedOff: boolean;
  /** Hash of an entry on the branch that the supervisor chose; null where there was nothing to choose. */
  readonly chosen?: string | null;
  readonly onProgress?: (stored: number, total: number) => void;
}

/** Entries in one file. */
const chunkEntries = 50;
/** Files sent before the folder is listed again. */
const chunksPerListing = 20;

/**
 * Sends what the store lacks of a log, in files that are created once. A lost answer does no harm: the listing, not the
 * answer to a request, says what is stored. Rejects with a RemoteError; what was sent by then stays, and the next call
 * goes on from there.
 */
export async function sendLog(store: RemoteStore, log: EditLog, options: SendOptions): Promise<Sent> {
  const sending = new Sending(store, log, options);
  const relation = await sending.relate();
  if (relation.contradicts) return sending.resolveBranches();
  if (relation.stored < Math.min(options.seen, sending.total) && !options.again) {
    return { state: 'shrunk', was: options.seen, now: relation.stored };
  }
  return sending.sendFrom(relation.stored);
}

interface Relation {
  /** Entries from the start that the store holds. */
  readonly stored: number;
  /** A chunk that is not of this log, or goes beyond it. */
  readonly contradicts: boolean;
}

class Sending {
  private readonly entries: readonly LogEntry[];
  private readonly rater: string;
  private readonly session: string;
  /** Where entries can still be added. */
  private readonly folder: string;

  constructor(
    private readonly store: RemoteStore,
    private readonly log: EditLog,
    private readonly options: SendOptions,
  ) {
    // The log may grow while it is sent.
    this.entries = log.entries.slice();
    this.rater = log.header.rater;
    this.session = log.header.session;
    this.folder = (options.signedOff ? afterFolder : logFolder)(this.rater, this.session);
  }

  get total(): number {
    return this.entries.length;
  }

  async relate(): Promise<Relation> {
    const before = await listChunks(this.store, logFolder(this.rater, this.session));
    const after = this.options.signedOff ? await listChunks(this.store, this.folder) : [];
    return relation([...before, ...after], this.entries);
  }

  async sendFrom(start: number): Promise<Sent> {
    if (start < this.total) await this.store.folder(this.folder);
    for (let stored = start; stored < this.total; ) {
      await this.sendChunks(stored);
      const now = await this.relate();
      if (now.contradicts) return this.resolveBranches();
      if (now.stored <= stored) throw new RemoteError('unexpected', `entry ${stored} was sent, but is not listed`);
      stored = now.stored;
      this.options.onProgress?.(stored, this.total);
    }
    return { state: 'sent', count: this.total };
  }

  private async sendChunks(start: number): Promise<void> {
    let from = start;
    for (let i = 0; i < chunksPerListing && from < this.total; i++) {
      const end = Math.min(from + chunkEntries, this.total);
      await this.sendChunk(from, end);
      from = end;
    }
  }

  private async sendChunk(from: number, end: number): Promise<void> {
    const entries = this.entries.slice(from, end);
    const { name } = chunkOf(from, end - 1, entries.at(-1)!.hash);
    const bytes = logLines({ header: this.log.header, entries });
    // Only the first file has the header.
    const body = from === 0 ? bytes : bytes.subarray(bytes.indexOf(10) + 1);
    await this.store.create(this.folder + name, body);
  }

  /** Names alone do not say whether another branch continues this one: the entries do. */
  async resolveBranches(): Promise<Sent> {
    const { branches } = await readStoredLog(this.store, this.rater, this.session);
    const longer = branches.filter(b => sharedWith(b, this.entries) === this.total && b.entries.length > this.total);
    const chosen = this.options.chosen ?? null;
    const holds = (entries: readonly LogEntry[]) => entries.some(e => e.hash === chosen);
    if (chosen !== null && branches.some(b => holds(b.entries))) {
      const counted = branches.filter(b => holds(b.entries));
      const ahead = longer.find(b => holds(b.entries));
      if (ahead) return { state: 'behind', log: ahead };
      if (!holds(this.entries)) return { state: 'other branch chosen', log: counted[0]! };
    } else if (branches.length === 1 && longer.length === 1) return { state: 'behind', log: longer[0]! };
    const stored = Math.max(0, ...branches.map(b => sharedWith(b, this.entries)));
    await this.sendRest(stored);
    if (chosen !== null && holds(this.entries)) return { state: 'sent', count: this.total };
    const now = (await readStoredLog(this.store, this.rater, this.session)).branches;
    const shared = Math.min(...now.map(b => sharedWith(b, this.entries)));
    return { state: 'fork', branches: now, sharedEntries: shared };
  }

  private async sendRest(stored: number): Promise<void> {
    if (stored >= this.total) return;
    await this.store.folder(this.folder);
    for (let from = stored; from < this.total; from += chunksPerListing * chunkEntries) await this.sendChunks(from);
  }
}

/** How the chunks that are listed stand to a log, by their names. */
function relation(chunks: readonly Chunk[], entries: readonly LogEntry[]): Relation {
  let stored = 0;
  let contradicts = false;
  for (const { from, to, hash } of [...chunks].sort((a, b) => a.from - b.from || a.to - b.to)) {
    if (entries[to]?.hash !== hash) contradicts = true;
    else if (from <= stored) stored = Math.max(stored, to + 1);
  }
  return { stored, contradicts };
}

/** Entries from the start that two logs share. Each hash covers all before it, so the place is found by halving. */
function sharedWith({ entries }: EditLog, own: readonly LogEntry[]): number {
  let [low, high] = [0, Math.min(entries.length, own.length)];
  while (low < high) {
    const middle = Math.ceil((low + high) / 2);
    if (entries[middle - 1]!.hash === own[middle - 1]!.hash) low = middle;
    else high = middle - 1;
  }
  return low;
}
