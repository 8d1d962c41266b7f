import { sha256 } from '@noble/hashes/sha2.js';
import { bytesToHex, utf8ToBytes } from '@noble/hashes/utils.js';
import type { Change, RecordingReview } from './edit';
import { apply, invert, startReview } from './edit';
import type { Fact } from './facts';
import { type ListChanges, ListsInPlace } from './lists';
import type { Marks } from './markset';
import type { OldEntry } from './old-entry';

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
  | 'evidence'
  | 'not sinus'
  | 'dismiss'
  | 'look'
  | 'sign off'
  | 'reopen'
  | 'settle'
  | 'finish'
  | 'restart'
  | 'hint'
  | 'skip'
  | 'sample'
  | 'plan'
  | 'unblind'
  | 'reassign';

/** Entries the undo stack passes over: they record what happened, not a decision about a mark. */
const notUndoable: ReadonlySet<Intent> = new Set<Intent>([
  'look',
  'sign off',
  'reopen',
  'finish',
  'restart',
  'hint',
  'sample',
  'plan',
  'unblind',
  'reassign',
]);

/** Version of the entries that are written now. */
const entryVersion = 2;

export interface LogEntry {
  /** Absent in entries of version 1. */
  readonly version?: typeof entryVersion;
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
  /** What it records about the whole review. */
  readonly fact?: Fact;
  /** Why, in the rater's own words. */
  readonly reason?: string;
  /** In an adjudicated log: where the settled answer came from. */
  readonly origin?: 'A' | 'B' | 'both' | 'new';
  /** Hash of the entry before (for the first: of the log's header). */
  readonly previous: string;
  readonly hash: string;
  /** The entry as it lies in files and in the store, where it was upgraded on reading; its hash is over this. */
  readonly written?: OldEntry;
}

/** An entry as it lies in files and in the store. */
export type WrittenEntry = Omit<LogEntry, 'written'> | OldEntry;

/** What belongs into files and into the store: entries that were upgraded on reading go back as they were. */
export function asWritten(entry: LogEntry): WrittenEntry {
  return entry.written ?? entry;
}

/** What the caller says of a new entry; the log adds version, position and hashes. */
export type Draft = Omit<LogEntry, 'version' | 'seq' | 'previous' | 'hash' | 'written'>;

/** What was said of an entry, to be appended elsewhere. */
export function draftOf(entry: LogEntry): Draft {
  const { written: _, version: _version, seq: _seq, previous: _previous, hash: _hash, ...draft } = entry;
  return draft;
}

/** Ties a log to its rater and to the very bytes it judges. */
export interface LogHeader {
  readonly session: string;
  /** Rater code, e.g. 'R1'. */
  readonly rater: string;
  /** SHA-256 of each recording's detected marks, by recording id (see detectedChecksum). */
  readonly detected: Readonly<Record<string, string>>;
  /** The task of the rater: a first or second blind rating, or settling differences. */
  readonly role: 'rater' | 'adjudicator' | 'learner';
}

/** Immutable. Keep the log and not its `entries`: logs that grew from one another share that array as long as they can. */
export interface EditLog {
  readonly header: LogHeader;
  readonly entries: readonly LogEntry[];
}

/** The log replayed so far, with the stacks that undo and redo need. Immutable. */
export interface Replayed {
  readonly recordings: ReadonlyMap<string, RecordingReview>;
  readonly undoable: UndoCell | null;
  readonly redoable: UndoCell | null;
  readonly facts: FactCell | null;
  /** True between 'finish' and 'restart': the review is signed off and takes no edits. */
  readonly finished: boolean;
}

/** The top of a stack of entries. Stacks share what lies below, so that one more entry costs the same in any log. */
export interface UndoCell {
  readonly seq: number;
  readonly below: UndoCell | null;
}

/** The latest entry that records a fact, and those before it. */
export interface FactCell {
  readonly at: string;
  readonly fact: Fact;
  readonly below: FactCell | null;
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

const sortedLists = new Map<string, readonly string[]>();

/** Whole numbers first, by size, as every object has them; then the rest. Kept: entries have the same few lists of keys. */
function sortedKeys(value: object): readonly string[] {
  const keys = Object.keys(value);
  if (keys.length < 2) return keys;
  const list = keys.join('\n');
  const known = sortedLists.get(list);
  if (known?.length === keys.length) return known;
  const names = keys.findIndex(key => String(Number(key) >>> 0) !== key || key === '4294967295');
  const sorted = names < 0 ? keys : [...keys.slice(0, names), ...keys.slice(names).sort()];
  // Files from elsewhere may bring any number of keys.
  if (sortedLists.size < 500 && list.length < 500 && !keys.some(key => key.includes('\n')))
    sortedLists.set(list, sorted);
  return sorted;
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

/** The array that a log made by `append` shares with those it grew from, and how much of it is the log's own. */
const shared = new WeakMap<EditLog, { readonly entries: LogEntry[]; readonly length: number }>();

/**
 * Appends one entry; returns the new log and the entry to store. The log given stays as it was; appending to the newest of
 * a line of logs copies nothing.
 */
export function append(log: EditLog, draft: Draft): { log: EditLog; entry: LogEntry } {
  const entries = growable(log);
  const seq = entries.length;
  const previous = lastHash(log);
  const body: Omit<LogEntry, 'hash'> = { version: entryVersion, ...draft, seq, previous };
  const entry: LogEntry = { ...body, hash: hashOfText(canonicalJson(body)) };
  entries.push(entry);
  return { log: grown(log.header, entries), entry };
}

/** Hash of the last entry; of the header when there is none. */
export function lastHash(log: EditLog): string {
  return log.entries.at(-1)?.hash ?? hashOfText(canonicalJson(log.header));
}

/** Entries to append to: those of the log's line when nothing was appended to it yet, else a copy. */
function growable(log: EditLog): LogEntry[] {
  const line = shared.get(log);
  return line && line.entries.length === line.length ? line.entries : [...log.entries];
}

function grown(header: LogHeader, entries: LogEntry[]): EditLog {
  const { length } = entries;
  let own = entries;
  const log: EditLog = {
    header,
    // An own property and not a class's, so that copying the log into a worker copies its entries.
    get entries() {
      if (own.length !== length) own = own.slice(0, length);
      return own;
    },
  };
  shared.set(log, { entries, length });
  return log;
}

export function startReplay(detected: ReadonlyMap<string, Marks>): Replayed {
  const recordings = new Map([...detected].map(([id, marks]) => [id, startReview(marks)] as const));
  return { recordings, undoable: null, redoable: null, facts: null, finished: false };
}

/** One entry further. Throws a RangeError when the entry does not fit what came before. */
export function advance(state: Replayed, entry: LogEntry, lists?: ListChanges): Replayed {
  const recordings = applyTo(state.recordings, entry, lists);
  const finished = entry.intent === 'finish' ? true : entry.intent === 'restart' ? false : state.finished;
  const facts = entry.fact ? { at: entry.at, fact: entry.fact, below: state.facts } : state.facts;
  return { recordings, finished, facts, ...stacksAfter(state, entry) };
}

function stacksAfter(
  { undoable, redoable }: Pick<Replayed, 'undoable' | 'redoable'>,
  { seq, intent, undoes, redoes }: LogEntry,
): Pick<Replayed, 'undoable' | 'redoable'> {
  if (undoes !== undefined) return { undoable: without(undoable, undoes), redoable: onto(redoable, undoes) };
  if (redoes !== undefined) return { undoable: onto(undoable, redoes), redoable: without(redoable, redoes) };
  if (notUndoable.has(intent)) return { undoable, redoable };
  return { undoable: onto(undoable, seq), redoable: null };
}

/** The latest fact of one kind; null when there is none. */
export function latestFact<K extends Fact['kind']>(
  { facts }: Pick<Replayed, 'facts'>,
  kind: K,
): Extract<Fact, { kind: K }> | null {
  for (let cell = facts; cell; cell = cell.below) if (isOfKind(cell.fact, kind)) return cell.fact;
  return null;
}

function isOfKind<K extends Fact['kind']>(fact: Fact, kind: K): fact is Extract<Fact, { kind: K }> {
  return fact.kind === kind;
}

function onto(below: UndoCell | null, seq: number): UndoCell {
  return { seq, below };
}

/** A stack without one entry, which is on top unless the log was written by other hands. */
function without(stack: UndoCell | null, seq: number): UndoCell | null {
  if (stack?.seq === seq) return stack.below;
  const kept: number[] = [];
  for (let cell = stack; cell; cell = cell.below) if (cell.seq !== seq) kept.push(cell.seq);
  return kept.reduceRight<UndoCell | null>(onto, null);
}

function applyTo(recordings: Replayed['recordings'], entry: LogEntry, lists?: ListChanges): Replayed['recordings'] {
  if (entry.change.length === 0) return recordings;
  const review = recordings.get(entry.recording);
  if (!review) throw new RangeError(`entry ${entry.seq} names an unknown recording: ${entry.recording}`);
  return new Map(recordings).set(entry.recording, apply(review, entry.change, lists));
}

/** Replays a whole log. Throws a RangeError when an entry does not fit what came before it. */
export function replay(log: EditLog, detected: ReadonlyMap<string, Marks>): Replayed {
  const result = tryReplay(log, detected);
  if ('why' in result) throw new RangeError(result.why);
  return result.replayed;
}

export type ReplayResult = { readonly replayed: Replayed } | { readonly seq: number; readonly why: string };

/** As `replay`; of a log that does not fit it names the first such entry and says why. */
export function tryReplay(log: EditLog, detected: ReadonlyMap<string, Marks>): ReplayResult {
  // One for each recording: whoever works on two in turn would have each copied at every entry.
  const lists = new Map([...detected.keys()].map(id => [id, new ListsInPlace()] as const));
  let state = startReplay(detected);
  for (const entry of log.entries) {
    try {
      state = advance(state, entry, lists.get(entry.recording));
    } catch (error) {
      if (!(error instanceof RangeError)) throw error;
      return { seq: entry.seq, why: error.message };
    }
  }
  return { replayed: { ...state, recordings: new Map([...state.recordings].map(trimmed)) } };
}

/** Marks that were changed in place lie in a larger buffer. */
function trimmed([id, review]: [string, RecordingReview]): [string, RecordingReview] {
  const own = (marks: Marks) => (marks.byteLength === marks.buffer.byteLength ? marks : marks.slice());
  return [id, { ...review, marks: own(review.marks), notSinus: own(review.notSinus) }];
}

/** The draft that undoes the latest undoable entry; null when there is nothing to undo. */
export function undoDraft(log: EditLog, state: Replayed, at: string): Draft | null {
  const seq = state.undoable?.seq;
  if (seq === undefined) return null;
  const entry = log.entries[seq]!;
  return { ...again(entry, at), change: invert(entry.change), undoes: seq };
}

export function redoDraft(log: EditLog, state: Replayed, at: string): Draft | null {
  const seq = state.redoable?.seq;
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
    const { hash, ...body } = asWritten(entry);
    if (entry.seq !== i)
      return { ok: false, seq: i, why: `entry ${i} says it is number ${entry.seq}: one was dropped or moved` };
    if (entry.previous !== previous) return { ok: false, seq: i, why: `entry ${i} does not follow the one before it` };
    if (hashOfText(canonicalJson(body)) !== hash)
      return { ok: false, seq: i, why: `entry ${i} was changed after it was written` };
    previous = hash;
  }
  return { ok: true };
}
