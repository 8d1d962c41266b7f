import { utf8ToBytes } from '@noble/hashes/utils.js';
import { sha256Hex } from '../core/marks/log';
import { atOnce } from './at-once';
import {
  assignFolder,
  assignmentPath,
  hashInName,
  numberInName,
  raterFolders,
  settleFolder,
  settlementPath,
  topFolders,
} from './names';
import {
  type Assignment,
  assignmentSchema,
  parseRecord,
  readRecord,
  recordBytes,
  type StudyRevision,
  studyRevisionSchema,
} from './records';
import { RemoteError } from './remote-error';
import type { RemoteStore } from './remote-store';

/** What a supervisor does once for a study, and again with each new rater: folders that rights are tied to. */
export async function makeStudyFolders(store: RemoteStore, raters: readonly string[]): Promise<void> {
  await store.folder('');
  for (const name of topFolders) await store.folder(`${name}/`);
  for (const rater of raters) for (const name of raterFolders) await store.folder(`${name}/${rater}/`);
}

export interface FoundRevision {
  /** Of its file. */
  readonly name: string;
  readonly number: number;
  readonly revision: StudyRevision;
}

/** The revision that holds; null before the first. `known` is not read again while it holds. */
export async function readStudyRevision(
  store: RemoteStore,
  known: FoundRevision | null = null,
): Promise<FoundRevision | null> {
  const names = ((await store.list('study/')) ?? []).map(e => e.name).filter(name => numberInName(name) !== null);
  const name = names.sort().at(-1);
  if (name === undefined) return null;
  if (name === known?.name) return known;
  const path = `study/${name}`;
  const bytes = await store.read(path);
  if (!bytes || sha256Hex(bytes) !== hashInName(name)) throw new RemoteError('unexpected', `${path} was changed`);
  return { name, number: numberInName(name)!, revision: parseRecord(studyRevisionSchema, path, bytes) };
}

/** The hash of an entry on the branch of a forked log that counts; null where nothing was chosen. */
export function chosenHead(revision: StudyRevision | null | undefined, rater: string, session: string): string | null {
  return revision?.branches.findLast(b => b.rater === rater && b.session === session)?.head ?? null;
}

/** Adds a revision after the one that was read. 'overtaken': another supervisor was first; read again and repeat. */
export async function reviseStudy(
  store: RemoteStore,
  revision: StudyRevision,
  after: number,
): Promise<'revised' | 'overtaken'> {
  const { bytes, sha256 } = recordBytes(revision);
  const prefix = String(after + 1).padStart(4, '0');
  const others = async () => ((await store.list('study/')) ?? []).filter(e => e.name.startsWith(`${prefix}-`));
  if ((await others()).length > 0) return 'overtaken';
  await store.create(`study/${prefix}-${sha256}.json`, bytes);
  // Both of two that write at once see both names; the last by name holds.
  return (await others()).at(-1)?.name === `${prefix}-${sha256}.json` ? 'revised' : 'overtaken';
}

/** Assigns one session to one rater. 'exists': it was assigned before, which cannot be taken back. */
export function assign(store: RemoteStore, rater: string, assignment: Assignment): Promise<'created' | 'exists'> {
  const path = assignment.place === 'settles' ? settlementPath : assignmentPath;
  return store.create(path(rater, assignment.session), recordBytes(assignment).bytes);
}

/** What a rater has to review and to settle, by session. */
export async function readAssignments(store: RemoteStore, rater: string): Promise<readonly Assignment[]> {
  const folders = [assignFolder(rater), settleFolder(rater)];
  const listed = await atOnce(folders, async folder =>
    ((await store.list(folder)) ?? []).filter(e => e.name.endsWith('.json')).map(e => folder + e.name),
  );
  const records = await atOnce(listed.flat(), path => readRecord(store, assignmentSchema, path));
  const found = records.filter(r => r !== null);
  return found.sort((a, b) => (a.session < b.session ? -1 : 1));
}

export interface DrawnPair {
  readonly session: string;
  readonly first: string;
  /** Null for a session that one person rates. */
  readonly second: string | null;
}

/**
 * Who rates which session: first ratings in turn over the raters in drawn order, and a second rater for the stated share
 * of sessions (rounded up), never the first one again. Each place in an order is the SHA-256 of seed and name, so that
 * anybody can draw the same again.
 */
export function drawPairs(
  sessions: readonly string[],
  raters: readonly string[],
  doubleShare: number,
  seed: number,
): readonly DrawnPair[] {
  if (raters.length === 0) throw new RangeError('nobody to draw from');
  const drawn = (names: readonly string[], what: string) => {
    const keyed = names.map(name => ({ name, key: sha256Hex(utf8ToBytes(`${seed}\n${what}\n${name}`)) }));
    return keyed.sort((a, b) => (a.key < b.key ? -1 : 1)).map(k => k.name);
  };
  const order = drawn(raters, 'raters');
  const doubled = raters.length < 2 ? 0 : Math.ceil(sessions.length * doubleShare - 1e-9);
  const twice = new Set(drawn(sessions, 'double').slice(0, doubled));
  let seconds = 0;
  return drawn(sessions, 'first').map((session, i) => {
    const first = order[i % order.length]!;
    if (!twice.has(session)) return { session, first, second: null };
    const others = order.filter(rater => rater !== first);
    return { session, first, second: others[seconds++ % others.length]! };
  });
}
