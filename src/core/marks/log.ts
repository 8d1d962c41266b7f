import { sha256 } from '@noble/hashes/sha2.js';
import { bytesToHex, utf8ToBytes } from '@noble/hashes/utils.js';
import type { Change, RecordingReview } from './edit';
import { apply, invert, startReview } from './edit';
import { type Marks, MarksInPlace } from './markset';

/**
 * One rater's review of one session: an append-only list of entries, chained by SHA-256 so that a changed, dropped or
 * reordered entry is found. Undo appends the inverse; nothing is ever taken out. The log of a rater spans all
 * recordings of the session, so undo follows the order in which the hands worked.
 */

export type Intent =
  | 'accept'
  | 'move'
  | 'delete'
  | 'insert'
  | 'unreadable'
  | 'readable'
  | 'comment'
  | 'flag'
  | 'dismiss'
  | 'look'
  | 'sign off'
  | 'reopen'
  | 'settle'
  | 'finish'
  | 'restart';

/** Entries the undo stack passes over: they record what happened, not a decision about a mark. */
const notUndoable: ReadonlySet<Intent> = new Set<Intent>(['look', 'sign off', 'reopen', 'finish', 'restart']);

export interface LogEntry {
  /** 0-based position in the log. */
  readonly seq: number;
  /** When, ISO 8601 in UTC, from the rater's clock. */
  readonly at: string;
  /** Recording the change belongs to; '' for acts on the whole review ('finish', 'restart'). */
  readonly recording: string;
  readonly intent: Intent;
  readonly change: Change;
  readonly undoes?: number;
  readonly redoes?: number;
  readonly reason?: string;
  /** In an adjudicated log: where the settled answer came from, e.g. 'A', 'B', 'both', 'new'. */
  readonly origin?: string;
  /** Hash of the entry before (for the first: of the log's header). */
  readonly previous: string;
  readonly hash: string;
}

/** What the caller says of a new entry; the log adds position and hashes. */
export type Draft = Omit<LogEntry, 'seq' | 'previous' | 'hash'>;

/** Ties a log to its rater and to the very bytes it judges. */
export interface LogHeader {
  readonly session: string;
  /** Rater code, e.g. 'R1'. */
  readonly rater: string;
  /** SHA-256 of each recording's detected marks, by recording id (see detectedChecksum). */
  readonly detected: Readonly<Record<string, string>>;
  /** What the rater is told they do: a first or second blind rating, or settling differences. */
  readonly role: 'rater' | 'adjudicator' | 'learner';
}

export interface EditLog {
  readonly header: LogHeader;
  readonly entries: readonly LogEntry[];
}

/** The log replayed so far, with the stacks that undo and redo need. Immutable. */
export interface Replayed {
  readonly recordings: ReadonlyMap<string, RecordingReview>;
  readonly undoable: readonly number[];
  readonly redoable: readonly number[];
  /** True between 'finish' and 'restart': the review is signed off and takes no edits. */
  readonly finished: boolean;
}

/** JSON with sorted keys, so that equal data has equal bytes. */
export function canonicalJson(value: unknown): string {
  return jsonOf(value)!;
}

/** As JSON.stringify has it: what has no JSON is left out of objects and is null in lists. */
function jsonOf(value: unknown): string | undefined {
  // Most values of a log are numbers, and most of the time went into calling JSON.stringify for each.
  if (typeof value === 'number') return Number.isFinite(value) ? String(value) : 'null';
  if (value === null || typeof value !== 'object') return JSON.stringify(value);
  if (Array.isArray(value)) return `[${value.map(item => jsonOf(item) ?? 'null').join()}]`;
  let out = '';
  for (const key of sortedKeys(value)) {
    const json = jsonOf((value as Record<string, unknown>)[key]);
    if (json !== undefined) out += `${out === '' ? '' : ','}${quoted(key)}:${json}`;
  }
  return `{${out}}`;
}

const quotedKeys = new Map<string, string>();

function quoted(key: string): string {
  const known = quotedKeys.get(key);
  if (known !== undefined) return known;
  const json = JSON.stringify(key);
  // Files from elsewhere may bring any number of keys.
  if (quotedKeys.size < 500) quotedKeys.set(key, json);
  return json;
}

/** Whole numbers first, by size, as every object has them; then the rest. */
function sortedKeys(value: object): string[] {
  const keys = Object.keys(value);
  const names = keys.findIndex(key => String(Number(key) >>> 0) !== key || key === '4294967295');
  if (names === 0) return keys.sort();
  return names < 0 ? keys : [...keys.slice(0, names), ...keys.slice(names).sort()];
}

export function sha256Hex(bytes: Uint8Array): string {
  return bytesToHex(sha256(bytes));
}

/** Room for the text of an entry, used for one after the other. */
const room = new Uint8Array(16384);

/** Of the text's UTF-8; nearly every entry is plain ASCII, whose bytes are its characters. */
function hashOfText(text: string): string {
  if (text.length > room.length) return sha256Hex(utf8ToBytes(text));
  for (let i = 0; i < text.length; i++) {
    const code = text.charCodeAt(i);
    if (code > 127) return sha256Hex(utf8ToBytes(text));
    room[i] = code;
  }
  return sha256Hex(room.subarray(0, text.length));
}

/** Checksum of detected marks: SHA-256 of the indices as little-endian int32. */
export function detectedChecksum(marks: Marks): string {
  const bytes = new Uint8Array(marks.length * 4);
  const view = new DataView(bytes.buffer);
  for (const [i, m] of marks.entries()) view.setInt32(i * 4, m, true);
  return sha256Hex(bytes);
}

export function newLog(header: LogHeader): EditLog {
  return { header, entries: [] };
}

/** Appends one entry; returns the new log and the entry to store. */
export function append(log: EditLog, draft: Draft): { log: EditLog; entry: LogEntry } {
  const body = { ...draft, seq: log.entries.length, previous: lastHash(log) };
  const entry: LogEntry = { ...body, hash: hashOfText(canonicalJson(body)) };
  return { log: { ...log, entries: [...log.entries, entry] }, entry };
}

function lastHash(log: EditLog): string {
  return log.entries.at(-1)?.hash ?? hashOfText(canonicalJson(log.header));
}

export function startReplay(detected: ReadonlyMap<string, Marks>): Replayed {
  const recordings = new Map([...detected].map(([id, marks]) => [id, startReview(marks)] as const));
  return { recordings, undoable: [], redoable: [], finished: false };
}

/** One entry further. Throws a RangeError when the entry does not fit what came before. */
export function advance(state: Replayed, entry: LogEntry): Replayed {
  return advanceBy(state, entry, apply);
}

function advanceBy(state: Replayed, entry: LogEntry, applyChange: typeof apply): Replayed {
  const recordings = applyTo(state.recordings, entry, applyChange);
  const finished = entry.intent === 'finish' ? true : entry.intent === 'restart' ? false : state.finished;
  if (entry.undoes !== undefined) {
    const undoable = without(state.undoable, entry.undoes);
    return { recordings, finished, undoable, redoable: [...state.redoable, entry.undoes] };
  }
  if (entry.redoes !== undefined) {
    const redoable = without(state.redoable, entry.redoes);
    return { recordings, finished, undoable: [...state.undoable, entry.redoes], redoable };
  }
  if (notUndoable.has(entry.intent)) return { ...state, recordings, finished };
  return { recordings, finished, undoable: [...state.undoable, entry.seq], redoable: [] };
}

/** A stack without one entry, which is on top unless the log was written by other hands. */
function without(stack: readonly number[], seq: number): readonly number[] {
  return stack.at(-1) === seq ? stack.slice(0, -1) : stack.filter(s => s !== seq);
}

function applyTo(
  recordings: Replayed['recordings'],
  entry: LogEntry,
  applyChange: typeof apply,
): Replayed['recordings'] {
  if (entry.change.length === 0) return recordings;
  const review = recordings.get(entry.recording);
  if (!review) throw new RangeError(`entry ${entry.seq} names an unknown recording: ${entry.recording}`);
  return new Map(recordings).set(entry.recording, applyChange(review, entry.change));
}

export function replay(log: EditLog, detected: ReadonlyMap<string, Marks>): Replayed {
  // One for each recording: whoever works on two in turn would have each copied at every entry.
  const inPlace = new Map([...detected.keys()].map(id => [id, new MarksInPlace()] as const));
  const last = log.entries.reduce((state, entry) => {
    const marks = inPlace.get(entry.recording);
    return advanceBy(state, entry, (review, change) =>
      apply(review, change, (now, removed, added) => marks!.replace(now, removed, added)),
    );
  }, startReplay(detected));
  const own = (id: string, { marks }: RecordingReview) => (marks === detected.get(id) ? marks : marks.slice());
  const recordings = new Map(
    [...last.recordings].map(([id, review]) => [id, { ...review, marks: own(id, review) }] as const),
  );
  return { ...last, recordings };
}

/** The draft that undoes the latest undoable entry; null when there is nothing to undo. */
export function undoDraft(log: EditLog, state: Replayed, at: string): Draft | null {
  const seq = state.undoable.at(-1);
  if (seq === undefined) return null;
  const entry = log.entries[seq]!;
  return { ...again(entry, at), change: invert(entry.change), undoes: seq };
}

export function redoDraft(log: EditLog, state: Replayed, at: string): Draft | null {
  const seq = state.redoable.at(-1);
  if (seq === undefined) return null;
  const entry = log.entries[seq]!;
  return { ...again(entry, at), redoes: seq };
}

function again({ recording, intent, change, origin }: LogEntry, at: string): Draft {
  return { at, recording, intent, change, ...(origin === undefined ? {} : { origin }) };
}

/** Checks the whole chain. The answer names the first entry that does not fit and what is wrong with it. */
export function verifyChain(log: EditLog): { ok: true } | { ok: false; seq: number; why: string } {
  let previous = hashOfText(canonicalJson(log.header));
  for (const [i, entry] of log.entries.entries()) {
    const { hash, ...body } = entry;
    if (entry.seq !== i)
      return { ok: false, seq: i, why: `entry ${i} says it is number ${entry.seq}: one was dropped or moved` };
    if (entry.previous !== previous) return { ok: false, seq: i, why: `entry ${i} does not follow the one before it` };
    if (hashOfText(canonicalJson(body)) !== hash)
      return { ok: false, seq: i, why: `entry ${i} was changed after it was written` };
    previous = hash;
  }
  return { ok: true };
}
