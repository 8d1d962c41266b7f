import type { ByteSource } from '../bytes/source';
import { FormatError } from '../format-error';
import { type DecimalMark, type GroupMark, type NumberStyle, numberStyle, withoutGroups } from './numbers';
import { stampPattern } from './stamp';
import { withoutFacts } from './stated';
import { isElapsed, riseAsElapsed } from './stopwatch';

/** 'space' means any run of spaces and tabs. */
export type Separator = ',' | ';' | '\t' | 'space';
export type { DecimalMark };

/** How much of a file a preview looks at. */
const previewBytes = 256 * 1024;

const previewLines = 20_000;

/** What the first part of a delimited text looks like. */
export interface TextTable {
  readonly separator: Separator;
  readonly decimalMark: DecimalMark;
  readonly groupMark: GroupMark;
  /** 1-based line of the first row of values, comments and blank lines counted. */
  readonly firstDataLine: number;
  /** Column names when a header line was found. */
  readonly header: readonly string[] | null;
  readonly columnCount: number;
  /** Rows of values seen in the preview, without marks between groups of digits. */
  readonly rows: readonly (readonly string[])[];
  /** Lines with a comment sign, and what stands above the rows of values, names of columns included. */
  readonly comments: readonly string[];
  readonly doubts: readonly string[];
}

interface Line {
  readonly text: string;
  readonly number: number;
}

/** Text of the first `limit` bytes, without a byte order mark and without a last line that is cut off. */
export async function headText(source: ByteSource, limit = previewBytes): Promise<string> {
  const bytes = await source.read(0, limit);
  const fail = (problem: string, remedy: string): never => {
    throw new FormatError(source.name, 'text', 'byte 0', problem, remedy);
  };
  if ((bytes[0] === 0xff && bytes[1] === 0xfe) || (bytes[0] === 0xfe && bytes[1] === 0xff)) {
    fail('the text is UTF-16.', 'Save it as UTF-8.');
  }
  if (bytes.includes(0)) fail('there are zero bytes, so this is no text.', 'Choose another format.');
  const text = decoded(bytes);
  if (source.size <= limit) return text;
  const end = Math.max(text.lastIndexOf('\n'), text.lastIndexOf('\r'));
  if (end < 0) fail(`no line ends in the first ${limit} bytes.`, 'Choose another format.');
  return text.slice(0, end + 1);
}

/**
 * UTF-8, which may end inside a character; what is none is taken as Windows-1252, as old instruments and tables write it.
 * UTF-8 that was damaged in one place still has other characters, or a byte order mark, that only UTF-8 writes so.
 */
function decoded(bytes: Uint8Array): string {
  const text = new TextDecoder('utf-8', { ignoreBOM: true }).decode(bytes, { stream: true });
  const isOther = text.includes('\ufffd') && !isUtf8(bytes) && !/[\u0080-\ufffc\ufeff]/.test(text);
  return isOther ? fromWindows1252(bytes) : text.replace(/^\ufeff/, '');
}

/** Of Windows-1252 from 0x80 on. Node 20 takes these for control characters, as of ISO 8859-1; browsers do not. */
const from0x80 = '€\u0081‚ƒ„…†‡ˆ‰Š‹Œ\u008dŽ\u008f\u0090‘’“”•–—˜™š›œ\u009džŸ';

export function fromWindows1252(bytes: Uint8Array): string {
  const text = new TextDecoder('windows-1252').decode(bytes);
  return text.replace(/[\u0080-\u009f]/g, c => from0x80[c.charCodeAt(0) - 0x80]!);
}

function isUtf8(bytes: Uint8Array): boolean {
  try {
    new TextDecoder('utf-8', { fatal: true }).decode(bytes, { stream: true });
    return true;
  } catch {
    return false;
  }
}

/** Splits one line into trimmed cells; quoted cells may hold the separator and, with `keepEdges`, blanks at the edges. */
function splitCells(line: string, separator: Separator, keepEdges = false): string[] {
  if (separator === 'space') return line.trim().split(/[ \t]+/);
  if (!line.includes('"')) return line.split(separator).map(c => c.trim());
  return splitQuoted(line, separator, keepEdges);
}

/** Cells of a line, with numbers as they are without marks between groups of digits. */
export function cellsOf(line: string, separator: Separator, group: GroupMark, keepEdges = false): string[] {
  const cells = splitCells(line, separator, keepEdges);
  return group === '' ? cells : cells.map(c => withoutGroups(c, group));
}

/** A quote inside a quoted cell is doubled. */
function splitQuoted(line: string, separator: string, keepEdges: boolean): string[] {
  const cells: string[] = [];
  let quoted = false;
  let cell = '';
  let whole = false;
  const close = () => {
    cells.push(whole && keepEdges ? cell : cell.trim());
    cell = '';
    whole = false;
  };
  for (let i = 0; i < line.length; i++) {
    const c = line[i]!;
    if (c === '"' && quoted && line[i + 1] === '"') {
      cell += c;
      i++;
    } else if (c === '"') {
      quoted = !quoted;
      if (quoted && cell.trim() === '') {
        whole = true;
        cell = '';
      }
    } else if (c === separator && !quoted) close();
    else if (quoted || !whole || c.trim() !== '') cell += c;
  }
  close();
  return cells;
}

export function isComment(line: string, separator: Separator | null): boolean {
  return /^\s*(#|%|\/\/)/.test(line) || (separator !== ';' && /^\s*;/.test(line));
}

const missing = /^(|-+|nan|na|n\/a|null|none|[+-]?inf(inity)?)$/i;
const numberWithDot = /^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?$/i;
const numberWithComma = /^[+-]?(\d+,?\d*|,\d+)(e[+-]?\d+)?$/i;

/** `62:30`: no time of day, but a time since the start. */
const manyMinutes = /^\d{1,4}:[0-5]\d$/;

export type CellKind = 'number' | 'stamp' | 'missing' | 'text';

export function cellKind(cell: string, decimalMark: DecimalMark): CellKind {
  if (missing.test(cell)) return 'missing';
  if ((decimalMark === ',' ? numberWithComma : numberWithDot).test(cell)) return 'number';
  return stampPattern.test(cell) || manyMinutes.test(cell) ? 'stamp' : 'text';
}

/** NaN when the cell is no number. */
export function cellNumber(cell: string, decimalMark: DecimalMark): number {
  if (cellKind(cell, decimalMark) !== 'number') return Number.NaN;
  return Number(decimalMark === ',' ? cell.replace(',', '.') : cell);
}

/** Works out separator, decimal mark, header and first row of values. Throws when no line holds a value. */
export function detectTable(fileName: string, text: string, asked: Partial<TextTable> = {}): TextTable {
  const lines = text
    .replace(/^\ufeff/, '')
    .split(/\r\n|\n|\r/, previewLines)
    .map((line, i): Line => ({ text: line, number: i + 1 }))
    .filter(l => l.text.trim() !== '');
  const plain = lines.filter(l => !isComment(l.text, null));
  const doubts: string[] = [];
  const chosen = asked.separator
    ? { separator: asked.separator, ...styleOf(bothEnds(plain), asked.separator, isSettled(asked) ? [] : doubts) }
    : chooseSeparator(sample(plain), bothEnds(plain), doubts);
  const { separator } = chosen;
  const decimalMark = asked.decimalMark ?? chosen.decimalMark;
  const groupMark = asked.groupMark ?? (decimalMark === chosen.groupMark ? '' : chosen.groupMark);
  const body = separator === ';' ? lines.filter(l => !isComment(l.text, ';')) : plain;
  const cells = body.map(l => cellsOf(l.text, separator, groupMark));
  const first = firstDataRow(cells, decimalMark);
  if (first < 0) {
    const remedy = 'Choose another format, or check the separator.';
    throw new FormatError(fileName, 'text', 'line 1', 'no line holds rows of numbers.', remedy);
  }
  const columnCount = cells[first]!.length;
  return {
    separator,
    decimalMark,
    groupMark,
    firstDataLine: body[first]!.number,
    header: findHeader(lines, body[first]!.number, columnCount, separator, decimalMark),
    columnCount,
    rows: fitting(cells.slice(first), columnCount, decimalMark),
    comments: lines.filter(l => l.number < body[first]!.number || isComment(l.text, separator)).map(l => l.text),
    doubts,
  };
}

const isSettled = ({ decimalMark, groupMark }: Partial<TextTable>) =>
  decimalMark !== undefined && groupMark !== undefined;

/** How numbers stand in a text that was made from other bytes; nothing for a file that is a text itself. */
export function knownStyle({ made }: ByteSource): Partial<Pick<TextTable, 'separator' | 'decimalMark' | 'groupMark'>> {
  return made ? { separator: '\t', decimalMark: '.', groupMark: '' } : {};
}

/** Lines from the end of the preview, where headers and preambles are behind. */
function sample(lines: readonly Line[]): string[] {
  const from = lines.length <= 4 ? 0 : Math.max(Math.floor(lines.length / 3), lines.length - 300);
  return lines.slice(from).map(l => l.text);
}

/** Lines of beginning and end: a number of the beginning may settle how those of the end are written. */
function bothEnds(lines: readonly Line[]): string[] {
  return [...lines.slice(0, 300), ...lines.slice(Math.max(300, lines.length - 300))].map(l => l.text);
}

/** A line that is one date with its time, or one time of day. */
const wholeStamp =
  /^((\d{4}[-/]\d\d[-/]\d\d|\d\d[./-]\d\d[./-]\d{4})[T ])?\d\d?:\d\d(:\d\d(?:[.,]\d+|:\d{3})?)?( ?[AP]M)?( ?(Z|[+-]\d\d(:?\d\d)?))?$/i;

const isWholeStamp = (line: string) => wholeStamp.test(line) || isElapsed(line);

/** Each line but a header is one stamp, so that blanks and commas in it separate nothing. */
function oneStampALine(lines: readonly string[], top: string, doubts: string[]): boolean {
  const found = lines.map(l => l.trim()).filter(isWholeStamp);
  if (found.length < 2 || found.length < lines.length - 1) return false;
  if (!lines.some(l => l.includes(','))) return true;
  // A comma may also separate times from values: these have a header of two names, digits as they come, or go up and down.
  if (!isWholeStamp(top.trim()) && top.includes(',')) return false;
  const fractions = found.map(l => /:\d\d[.,](\d+)/.exec(l)?.[1]?.length);
  if (new Set(fractions).size > 1 || (found.every(isElapsed) && !riseAsElapsed(found))) return false;
  doubts.push('The comma in each line is read as that of a fraction of a second; it may separate two columns.');
  return true;
}

interface Chosen extends NumberStyle {
  readonly separator: Separator;
}

function chooseSeparator(lines: readonly string[], wider: readonly string[], doubts: string[]): Chosen {
  const top = wider[0] ?? '';
  if (oneStampALine(lines, top, doubts)) return { separator: ';', decimalMark: '.', groupMark: '' };
  let best: Chosen = { separator: ',', decimalMark: '.', groupMark: '' };
  let bestScore = -1;
  for (const separator of ['\t', ';', ',', 'space'] as const) {
    const chosen = { separator, ...styleOf(wider, separator, []) };
    const score = shareOfValues(lines, chosen);
    if (score > bestScore + 1e-9) [best, bestScore] = [chosen, score];
  }
  const named = /[a-z]/i.test(top) && top.includes(',');
  if (!named && best.separator !== 'space' && looksLikeDecimalComma(lines)) {
    const everyLine = lines.every(l => l.includes(','));
    if (!everyLine) return { separator: ';', ...numberStyle([lines.map(l => l.trim())], ';', doubts) };
    const oneName = /[a-z]/i.test(top) && !top.includes(',');
    if (!oneName) {
      doubts.push('Each line holds one comma. It is read as a decimal comma; it may be the separator of two columns.');
    }
    return { separator: ';', decimalMark: ',', groupMark: '' };
  }
  styleOf(wider, best.separator, doubts);
  return best;
}

function styleOf(lines: readonly string[], separator: Separator, doubts: string[]): NumberStyle {
  const rows = lines.map(l => splitCells(l, separator));
  const count = mode(rows.map(r => r.length));
  const usual = rows.filter(r => r.length === count);
  const columns = Array.from({ length: count }, (_, c) => usual.map(r => r[c]!));
  return numberStyle(columns, separator, doubts);
}

/**
 * Share of cells that are values, counting lines with the usual number of columns; several columns win over one. A line
 * with fewer, such as a header that this separator does not split, counts as one of the usual ones.
 */
function shareOfValues(lines: readonly string[], { separator, decimalMark, groupMark }: Chosen): number {
  const rows = lines.map(l => cellsOf(l, separator, groupMark));
  const usual = mode(rows.map(r => r.length));
  let values = 0;
  let cells = 0;
  for (const row of rows) {
    cells += Math.max(row.length, usual);
    if (row.length === usual) for (const c of row) values += cellKind(c, decimalMark) === 'text' ? 0 : 1;
  }
  return (values / Math.max(1, cells)) * (usual > 1 ? 1 : 0.95);
}

function mode(values: readonly number[]): number {
  const counts = new Map<number, number>();
  for (const v of values) counts.set(v, (counts.get(v) ?? 0) + 1);
  return [...counts].reduce((a, b) => (b[1] > a[1] ? b : a), [1, 0] as [number, number])[0];
}

/**
 * At most one comma in each line. Lines without one settle it, as a separator is always there; else '0,125' in every
 * line: whole part small and not counting up, second part bare digits of one length.
 */
function looksLikeDecimalComma(lines: readonly string[]): boolean {
  const rows = lines.map(l => /^\s*([+-]?\d+)(?:,(\d+))?\s*$/.exec(l));
  if (rows.length < 3 || rows.some(r => r === null)) return false;
  const bare = rows.filter(r => r![2] === undefined).length;
  if (bare > 0) return bare < rows.length;
  if (rows.some(r => r![1]!.length > 4)) return false;
  const digits = new Set(rows.map(r => r![2]!.length));
  if (digits.size > 1 || [...digits][0]! < 2) return false;
  const whole = rows.map(r => Number(r![1]));
  return !whole.every((w, i) => i === 0 || w > whole[i - 1]!);
}

/** A row of values: the usual number of columns, and a value wherever the usual row has one. */
function firstDataRow(cells: readonly (readonly string[])[], decimalMark: DecimalMark): number {
  const tail = cells.slice(cells.length <= 4 ? 0 : Math.floor(cells.length / 3));
  const count = mode(tail.map(r => r.length));
  const usual = tail.filter(r => r.length === count).slice(0, 200);
  const valued = Array.from({ length: count }, (_, c) => {
    return usual.filter(r => /number|stamp/.test(cellKind(r[c]!, decimalMark))).length * 2 >= usual.length;
  });
  if (!valued.includes(true)) return -1;
  const isData = (row: readonly string[] | undefined) =>
    row === undefined ||
    (row.length === count &&
      row.every((c, i) => !valued[i] || cellKind(c, decimalMark) !== 'text') &&
      row.some((c, i) => valued[i] && /number|stamp/.test(cellKind(c, decimalMark))));
  return cells.findIndex((row, i) => isData(row) && (isData(cells[i + 1]) || isData(cells[i + 2])));
}

/** Rows without the few that no reader could read, so that these do not decide what a column holds. */
function fitting(
  rows: readonly (readonly string[])[],
  count: number,
  decimalMark: DecimalMark,
): readonly (readonly string[])[] {
  const most = Math.floor(0.05 * rows.length);
  if (most === 0) return rows;
  const valued = Array.from({ length: count }, (_, c) => {
    const texts = rows.filter(r => r.length >= count && cellKind(r[c]!, decimalMark) === 'text').length;
    return texts <= most;
  });
  const good = rows.filter(
    r => r.length >= count && r.every((cell, c) => !valued[c] || cellKind(cell, decimalMark) !== 'text'),
  );
  return rows.length - good.length <= most ? good : rows;
}

const commentSign = /^\s*(#|%|\/\/)\s*/;

/**
 * The nearest line above, bare or behind a comment sign, that has as many cells and some words in them. A row of units
 * below the names, as in `time,ECG` and `s,mV`, goes in brackets behind them.
 */
function findHeader(
  lines: readonly Line[],
  firstDataLine: number,
  count: number,
  separator: Separator,
  decimalMark: DecimalMark,
): string[] | null {
  const above = lines
    .filter(l => l.number < firstDataLine)
    .reverse()
    .slice(0, 4)
    .map(({ text }) => (commentSign.test(text) ? withoutFacts(text.replace(commentSign, '')) : text))
    .map(text => splitCells(text, separator))
    .filter(cells => cells.length === count && cells.some(c => cellKind(c, decimalMark) === 'text'));
  const [nearest, next] = above;
  if (!nearest) return null;
  if (!next || !isUnitsRow(nearest)) return nearest;
  return next.map((name, c) => {
    const unit = (nearest[c] ?? '').replace(/^[[(]\s*|\s*[\])]$/g, '');
    return unit === '' || unit === '-' ? name : `${name} (${unit})`;
  });
}

const unitName =
  /^[[(]?\s*(n|µ|μ|u|m)?(s|sec|v|volts?|g|°c|bpm|hz|%)?\s*[\])]?$|^[[(]?\s*(msec|seconds|milliseconds|samples?|adc|counts?|a\.?u\.?|-|hh:mm:ss(\.\w+)?|yyyy\S*)\s*[\])]?$/i;

/** Every cell is a unit or blank, and at least one is a unit of time or voltage. */
function isUnitsRow(cells: readonly string[]): boolean {
  return cells.every(c => unitName.test(c)) && cells.some(c => /[sv]\s*[\])]?$/i.test(c));
}
