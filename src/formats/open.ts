import { arraysAsText } from './arrays/as-text';
import { gunzipSource, isGzip } from './bytes/gunzip';
import type { ByteSource, ReadControl } from './bytes/source';
import { asUtf8, utf16Order } from './bytes/utf16';
import { FormatError } from './format-error';
import { magic } from './ishne/header';
import { layoutFrom, saysSignal } from './text/layout';
import { unitFromName } from './text/mark-units';
import type { TextTable } from './text/table';
import { cellKind, cellNumber, detectTable, headText, knownStyle } from './text/table';
import { mostlyRising } from './text/time';

export type FileFormat = 'edf' | 'ishne' | 'bundle' | 'text-signal' | 'text-marks' | 'text-segments' | 'raw';

export interface Sniffed {
  readonly format: FileFormat;
  /** 'certain' when the bytes say so themselves, 'likely' by their looks, 'guess' when nothing else fits. */
  readonly confidence: 'certain' | 'likely' | 'guess';
  readonly why: string;
}

/**
 * A gzip file as its inflated bytes, a text in UTF-16 as UTF-8, a file of arrays as a text table, any other file as it is.
 * `variables`: names of the arrays to take.
 */
export async function inflated(
  source: ByteSource,
  control: ReadControl = {},
  variables?: readonly string[],
): Promise<ByteSource> {
  const plain = isGzip(await source.read(0, 3)) ? await gunzipSource(source, control) : source;
  const order = utf16Order(await plain.read(0, 2));
  if (order !== null) return asUtf8(plain, order);
  return (await arraysAsText(plain, control, variables)) ?? plain;
}

/** Says what a file is by its contents; its name does not matter. A gzip file is to be inflated first. */
export async function sniff(source: ByteSource): Promise<Sniffed> {
  if (source.size === 0)
    throw new FormatError(source.name, 'file', 'byte 0', 'the file is empty.', 'Choose another file.');
  const head = await source.read(0, 65_536);
  if (isGzip(head)) return sniff(await gunzipSource(source));
  if (head[0] === 0x50 && head[1] === 0x4b && head[2] === 3 && head[3] === 4) {
    return { format: 'bundle', confidence: 'certain', why: 'it begins as a zip file' };
  }
  if (String.fromCharCode(...head.subarray(0, magic.length)) === magic)
    return { format: 'ishne', confidence: 'certain', why: 'it begins as an ISHNE file' };
  refuseByName(source.name, head);
  if (looksLikeEdf(head)) return { format: 'edf', confidence: 'certain', why: 'it begins with an EDF header' };
  if (looksLikeCutEdf(head)) return { format: 'edf', confidence: 'certain', why: 'it begins as an EDF header does' };
  const binary = binaryBytes(head);
  if (binary > head.length / 1000)
    return { format: 'raw', confidence: 'guess', why: 'it is no text and has no known header' };
  return sniffText(source);
}

/** Formats that say who they are and are not read, with what to do instead. */
const notRead: readonly (readonly [RegExp, string])[] = [
  [/^GDF \d\.\d\d/, 'EDF+'],
  [/^MATLAB 7\.3/, 'a MAT-file of level 5 (save with -v7)'],
  [/^\x89HDF\r\n/, 'text or EDF+'],
  [/^ANN {2}1\.0/, 'EDF+'],
];

const names: Readonly<Record<string, string>> = {
  GDF: 'GDF',
  MAT: 'a MAT-file 7.3',
  '\x89HD': 'HDF5',
  ANN: 'ISHNE annotations',
};

function refuseByName(file: string, head: Uint8Array): void {
  const begins = String.fromCharCode(...head.subarray(0, 16));
  const found = notRead.find(([pattern]) => pattern.test(begins));
  if (!found) return;
  const version = /^GDF (\d\.\d\d)/.exec(begins)?.[1];
  const name = `${names[begins.slice(0, 3)]}${version === undefined ? '' : ` ${version}`}`;
  throw new FormatError(
    file,
    'file',
    'byte 0',
    `this is ${name}, which is not read.`,
    `Convert it to ${found[1]} first.`,
  );
}

/** Version field, and numbers where the header has numbers. */
function looksLikeEdf(head: Uint8Array): boolean {
  const field = (at: number, width: number) =>
    String.fromCharCode(...head.subarray(at, at + width))
      .replaceAll('\0', ' ')
      .trim();
  const version = field(0, 8) === '0' || head[0] === 0xff;
  return head.length >= 256 && version && /^\d{1,4}$/.test(field(252, 4)) && /^\d+$/.test(field(184, 8));
}

/**
 * A file shorter than an EDF header that begins as one: the version field at its full width, and no line end behind it. Its
 * one row could be read as a text table, whose preview would show the patient's name.
 */
function looksLikeCutEdf(head: Uint8Array): boolean {
  if (head.length < 8 || head.length >= 256) return false;
  const version = String.fromCharCode(...head.subarray(0, 8));
  return (version === '0       ' || version === '\xffBIOSEMI') && !head.some(b => b === 10 || b === 13);
}

/** Control bytes that no text has. UTF-16 counts as text, so that the person is told what to do. */
function binaryBytes(head: Uint8Array): number {
  if ((head[0] === 0xff && head[1] === 0xfe) || (head[0] === 0xfe && head[1] === 0xff)) return 0;
  let n = 0;
  for (const b of head) if (b < 9 || (b > 13 && b < 32 && b !== 27)) n++;
  return n;
}

async function sniffText(source: ByteSource): Promise<Sniffed> {
  let table: TextTable;
  let text = '';
  try {
    text = await headText(source, 65_536);
    table = detectTable(source.name, text, knownStyle(source));
  } catch (error) {
    if (!(error instanceof FormatError)) throw error;
    if (/UTF-16/.test(error.problem)) throw error;
    if (isProse(text)) throw noSignal(source.name);
    return { format: 'raw', confidence: 'guess', why: 'it is text without rows of numbers, or no text' };
  }
  return segmentsLook(table) ?? marksLook(table) ?? signalLook(table);
}

/** Words, and next to nothing that is no letter of UTF-8. */
function isProse(text: string): boolean {
  const broken = text.match(/\ufffd/g)?.length ?? 0;
  return /\p{L}{2,}/u.test(text) && broken <= text.length / 20;
}

function noSignal(file: string): FormatError {
  const problem = 'this is text without rows of numbers: there is no signal in it.';
  return new FormatError(file, 'text', 'line 1', problem, 'Choose the file that holds the recording.');
}

function segmentsLook(table: TextTable): Sniffed | null {
  const header = table.header ?? [];
  const has = (pattern: RegExp) => header.some(h => pattern.test(h));
  if (has(/^(start|begin|from|onset)/i) && has(/^(end|stop|to\b|until)/i)) {
    return { format: 'text-segments', confidence: 'likely', why: 'the header names start and end' };
  }
  const kinds = (row: readonly string[]) => row.map(c => cellKind(c, table.decimalMark)[0]).join('');
  const rows = table.rows.slice(0, 100);
  if (table.columnCount === 3 && rows.every(r => /^t(nn|ss)$/.test(kinds(r)))) {
    return { format: 'text-segments', confidence: 'likely', why: 'each row is a word and two numbers or times' };
  }
  return null;
}

/** The only column, or the only one of values beside columns of words. */
function valueColumn(table: TextTable): number | null {
  if (table.columnCount === 1) return 0;
  const holds = (c: number) => table.rows.map(r => cellKind(r[c] ?? '', table.decimalMark));
  const columns = Array.from({ length: table.columnCount }, (_, c) => holds(c));
  const valued = columns.findIndex(kinds => kinds.every(k => k !== 'text'));
  const words = columns.filter(kinds => kinds.every(k => k === 'text')).length;
  return valued >= 0 && words === table.columnCount - 1 ? valued : null;
}

function marksLook(table: TextTable): Sniffed | null {
  const known = table.header?.filter(h => unitFromName(h) !== null) ?? [];
  const beat = known.find(h => /(^|[^a-z])(rri?|ibi)([^a-z]|$)|interval|peak|beat/i.test(h));
  const named = beat ?? (table.columnCount === 1 ? known[0] : undefined);
  const say = (why: string): Sniffed => ({ format: 'text-marks', confidence: 'likely', why });
  if (named !== undefined) return say(`the header names "${named}"`);
  const column = valueColumn(table);
  if (column === null || saysSignal(table.header?.[column] ?? '')) return null;
  const cells = table.rows.map(r => r[column] ?? '');
  const alone = table.columnCount === 1;
  if (cells.every(c => cellKind(c, table.decimalMark) === 'stamp')) return say('every row is a time');
  const values = cells.map(c => cellNumber(c, table.decimalMark)).filter(v => !Number.isNaN(v));
  if (values.length > 1 && values.every((v, i) => i === 0 || v > values[i - 1]!))
    return say(alone ? 'one column that only rises' : 'one column that only rises, beside labels');
  if (!alone) return null;
  const sorted = Float64Array.from(values).sort();
  const [low, middle, high] = [0.05, 0.5, 0.95].map(q => sorted[Math.floor(q * (sorted.length - 1))] ?? 0) as [
    number,
    number,
    number,
  ];
  const intervals = low > 0.4 * middle && high < 2.5 * middle && !mostlyRising(values);
  const scaled = middle < 10 ? middle * 1000 : middle;
  return intervals && scaled >= 250 && scaled <= 2500 ? say('one column of values as RR intervals have') : null;
}

function signalLook(table: TextTable): Sniffed {
  const layout = layoutFrom(table);
  const values = layout.columns.filter(c => c.role === 'value').length;
  const columns = values === 1 ? '1 column of values' : `${values} columns of values`;
  const why = layout.timeFormat ? `a time column and ${values} of values` : columns;
  return { format: 'text-signal', confidence: values > 0 ? 'likely' : 'guess', why };
}
