import { utf8ToBytes } from '@noble/hashes/utils.js';
import { type EditLog, sha256Hex } from '../core/marks/log';
import { readLoneLog } from '../formats/bundle/logs';
import { atOnce } from './at-once';
import { afterFolder, type Chunk, logFolder, parseChunkName, signOffPath } from './names';
import { readRecord, type StoredSignOff, type StudyRevision, signOffSchema } from './records';
import type { RemoteStore } from './remote-store';
import { chosenHead } from './study';

/**
 * One rater's log of one session in the store. Its chunks laid end to end are the log as a review file: the first begins
 * with the header's line. Two machines that went on from the same entry leave branches; nothing is merged.
 */
export interface StoredLog {
  /** Longest first. More than one: the log is forked. */
  readonly branches: readonly EditLog[];
  readonly signOff: StoredSignOff | null;
  /** Chunks that are not what their names say, or whose entries follow nothing that is stored, in words. */
  readonly problems: readonly string[];
}

/** Texts of chunks read before, by their path; a chunk never changes. */
export type ChunkTexts = Map<string, string>;

/** Which of a log's folders and files a listing has shown; what is not there is not asked for. */
export interface LogPlaces {
  readonly log: boolean;
  readonly after: boolean;
  readonly signOff: boolean;
}

export async function readStoredLog(
  store: RemoteStore,
  rater: string,
  session: string,
  known: ChunkTexts = new Map(),
  there: LogPlaces = { log: true, after: true, signOff: true },
): Promise<StoredLog> {
  const [before, after, signOff] = await Promise.all([
    there.log ? listChunks(store, logFolder(rater, session)) : [],
    there.after ? listChunks(store, afterFolder(rater, session)) : [],
    there.signOff ? readRecord(store, signOffSchema, signOffPath(rater, session)) : null,
  ]);
  const lines = new Lines();
  for (const [folder, chunks] of [
    [logFolder(rater, session), before],
    [afterFolder(rater, session), after],
  ] as const) {
    const texts = await atOnce(chunks, chunk => textOf(store, folder + chunk.name, known));
    for (const [i, chunk] of chunks.entries()) lines.add(chunk, folder, texts[i]!);
  }
  return { ...lines.branches(), signOff };
}

export interface CountedLog extends StoredLog {
  /** Branches that a supervisor did not choose. */
  readonly passedOver: readonly EditLog[];
}

/** The log with the branch that a supervisor chose alone; as it is where none was chosen, or that one has forked again. */
export function countedLog(stored: StoredLog, chosenHead: string | null): CountedLog {
  const { branches } = stored;
  const chosen = branches.filter(b => b.entries.some(e => e.hash === chosenHead));
  if (chosen.length !== 1) return { ...stored, passedOver: [] };
  return { ...stored, branches: chosen, passedOver: branches.filter(b => b !== chosen[0]) };
}

/** A log as it counts by this revision of the study. */
export async function readCountedLog(
  store: RemoteStore,
  revision: StudyRevision | null | undefined,
  rater: string,
  session: string,
  known?: ChunkTexts,
  there?: LogPlaces,
): Promise<CountedLog> {
  const stored = await readStoredLog(store, rater, session, known, there);
  return countedLog(stored, chosenHead(revision, rater, session));
}

/** Whether the one branch of a log holds what was signed off of it. */
export function holdsSignOff({ branches, signOff }: StoredLog): boolean {
  if (branches.length !== 1 || !signOff || signOff.count === 0) return false;
  return branches[0]!.entries[signOff.count - 1]?.hash === signOff.head;
}

/** Chunks in a folder, in order; empty when the folder is not there. */
export async function listChunks(store: RemoteStore, folder: string): Promise<readonly Chunk[]> {
  const listed = (await store.list(folder)) ?? [];
  const chunks = listed.flatMap(({ name, isFolder }) => (isFolder ? [] : (parseChunkName(name) ?? [])));
  return chunks.sort((a, b) => a.from - b.from || a.to - b.to);
}

async function textOf(store: RemoteStore, path: string, known: ChunkTexts): Promise<string> {
  const kept = known.get(path);
  if (kept !== undefined) return kept;
  const bytes = await store.read(path);
  const text = bytes ? new TextDecoder().decode(bytes) : '';
  known.set(path, text);
  return text;
}

interface Line {
  readonly seq: number;
  readonly previous: string;
  readonly hash: string;
  readonly text: string;
}

/** Lines of all chunks, tied together by their hashes. */
class Lines {
  private readonly byHash = new Map<string, Line>();
  private readonly headers = new Map<string, string>();
  private readonly problems: string[] = [];

  add(chunk: Chunk, folder: string, text: string): void {
    const lines = text.split('\n').filter(line => line !== '');
    // A header's line is canonical JSON, so its hash is that of its bytes.
    const header = chunk.from === 0 ? lines.shift() : undefined;
    if (header !== undefined) this.headers.set(sha256Hex(utf8ToBytes(header)), header);
    const parsed = lines.map(parseLine);
    const fits =
      parsed.length === chunk.to - chunk.from + 1 &&
      parsed.every((line, i) => line?.seq === chunk.from + i) &&
      parsed.at(-1)?.hash === chunk.hash;
    if (!fits) this.problems.push(`${folder}${chunk.name} does not hold what its name says`);
    for (const line of parsed) if (line) this.byHash.set(line.hash, line);
  }

  branches(): Pick<StoredLog, 'branches' | 'problems'> {
    const continued = new Set([...this.byHash.values()].map(line => line.previous));
    const ends = [...this.byHash.values()].filter(line => !continued.has(line.hash));
    const branches = ends.flatMap(end => this.branch(end) ?? []);
    branches.sort((a, b) => b.entries.length - a.entries.length || (lastHash(a) < lastHash(b) ? -1 : 1));
    return { branches, problems: this.problems };
  }

  private branch(end: Line): EditLog | null {
    const texts: string[] = [];
    let line: Line | undefined = end;
    let first = end;
    while (line) {
      texts.push(line.text);
      first = line;
      line = line.seq === 0 ? undefined : this.byHash.get(line.previous);
    }
    const header = this.headers.get(first.previous);
    if (header === undefined) {
      this.problems.push(`entry ${first.seq} (${first.hash.slice(0, 8)}) follows nothing that is stored`);
      return null;
    }
    const found = readLoneLog(`${header}\n${texts.reverse().join('\n')}\n`);
    if (found?.wrong) this.problems.push(`branch ${end.hash.slice(0, 8)}: ${found.wrong}`);
    return found && found.log.entries.length > 0 ? found.log : null;
  }
}

function lastHash(log: EditLog): string {
  return log.entries.at(-1)?.hash ?? '';
}

function parseLine(text: string): Line | null {
  try {
    const { seq, previous, hash } = JSON.parse(text) as Partial<Line>;
    if (typeof seq !== 'number' || typeof previous !== 'string' || typeof hash !== 'string') return null;
    return { seq, previous, hash, text };
  } catch {
    return null;
  }
}
