import { FormatError } from '../format-error';
import { BadLine, BadLines } from './bad-lines';
import { isOtherHeader, type TextLayout } from './layout';
import { type GroupMark, withoutGroups } from './numbers';
import { StampReader } from './stamp';
import { cellsOf, fromWindows1252 } from './table';
import { secondsPer } from './time';

export const maxLineBytes = 1_000_000;

const LF = 10;
const CR = 13;
const SKIP = 0;
const TIME = 1;
const STAMP = 2;
const VALUE = 3;
const LETTER_E = 0x65;
const CUT = -1;
const KEPT = -2;
const LEFT_OUT = -3;
/** Rows by which to tell whether rows share their stamps. */
const rowsLookedAt = 64;

const utf8 = new TextDecoder();

const powersOfTen = Float64Array.from({ length: 309 }, (_, i) => Number(`1e${i}`));

/** Rows of one chunk. Buffers are reused: read them before the next chunk. */
export interface ParsedRows {
  count: number;
  /** Seconds; empty without a time column. */
  times: Float64Array;
  /** One array per value column, in its stored unit (whole numbers for int formats); NaN where the cell is empty. */
  readonly values: Float64Array[];
  /** Line number of each row, to name a place. */
  lines: Int32Array;
}

/** Parses whole lines of bytes by a layout. Keeps the line number between chunks. */
export class RowParser {
  readonly rows: ParsedRows;
  readonly badLines = new BadLines();
  private readonly roles: Uint8Array;
  private readonly decimals: number[];
  private readonly timeScale: number;
  private readonly separator: number;
  private readonly mark: number;
  private readonly isClock: boolean;
  private readonly spaced: boolean;
  private readonly group: GroupMark;
  private readonly stamps: StampReader;
  /** Minutes east of UTC of the first stamp; undefined before it, null when it names no zone. */
  private firstOffset: number | null | undefined = undefined;

  private line = 1;
  private dayOffset = 0;
  private lastClock = Number.NEGATIVE_INFINITY;
  /** Time of the last row before this block, and whether rows share their stamps. */
  private lastTime = Number.NaN;
  private sharesStamps = false;

  constructor(
    private readonly file: string,
    private readonly layout: TextLayout,
  ) {
    const { columns, timeFormat, separator, decimalMark, samplingRateHz } = layout;
    const stamp = timeFormat === 'iso' || timeFormat === 'clock';
    const last = columns.findLastIndex(c => c.role !== 'ignore');
    this.roles = Uint8Array.from(columns.slice(0, last + 1), c =>
      c.role === 'ignore' ? SKIP : c.role === 'value' ? VALUE : stamp ? STAMP : TIME,
    );
    const values = columns.filter(c => c.role === 'value');
    this.decimals = values.map(c => (c.format === 'float32' ? -1 : c.decimals));
    this.timeScale =
      timeFormat === null || stamp ? 1 : timeFormat === 'sample' ? 1 / samplingRateHz! : secondsPer[timeFormat];
    this.separator = separator === 'space' ? 0x20 : separator.charCodeAt(0);
    this.spaced = separator === 'space';
    this.mark = decimalMark.charCodeAt(0);
    this.isClock = timeFormat === 'clock';
    this.group = layout.groupMark;
    this.stamps = new StampReader(layout.slashes);
    this.rows = {
      count: 0,
      times: new Float64Array(0),
      values: values.map(() => new Float64Array(0)),
      lines: new Int32Array(0),
    };
  }

  /** Minutes east of UTC in which times are given: those of the first stamp; null when stamps name no zone. */
  get utcOffsetMinutes(): number | null {
    return this.firstOffset ?? null;
  }

  /**
   * Parses `[start, end)`; the last byte must end a line. Returns the rows. `lastMayBeCut` allows the final line of the
   * file to be too short.
   */
  parse(bytes: Uint8Array, start: number, end: number, lastMayBeCut: boolean): ParsedRows {
    this.makeRoom(end - start);
    const { lines } = this.rows;
    const firstDataLine = this.layout.firstDataLine;
    let row = 0;
    let line = this.line;
    for (let i = start; i < end; line++) {
      if (line < firstDataLine || this.isBare(bytes, i)) {
        i = skipLine(bytes, i);
        continue;
      }
      const next = this.tryRow(bytes, i, row, line, lastMayBeCut ? end : -1);
      if (next === CUT) return this.finish(row, line + 1);
      if (next < 0) {
        i = skipLine(bytes, i);
        if (next === KEPT) lines[row++] = line;
        continue;
      }
      if (next - i > maxLineBytes) this.fail(line, 1, `the line is ${next - i} bytes long.`, 'Choose another format.');
      lines[row++] = line;
      i = next;
    }
    return this.finish(row, line);
  }

  /** Blank, or a comment. */
  private isBare(bytes: Uint8Array, from: number): boolean {
    let i = from;
    let c = bytes[i]!;
    while (c === 0x20 || (c === 9 && this.separator !== 9)) c = bytes[++i]!;
    if (c === LF || c === CR || c === 0x23 || c === 0x25) return true;
    return (c === 0x3b && this.separator !== 0x3b) || (c === 0x2f && bytes[i + 1] === 0x2f);
  }

  /** Reads one line into row `row`; returns where the next line begins, CUT for a last line that was cut, or what became of a bad one. */
  private tryRow(bytes: Uint8Array, from: number, row: number, line: number, cutEnd: number): number {
    const { dayOffset, lastClock, firstOffset } = this;
    try {
      return this.parseRow(bytes, from, row, line, cutEnd);
    } catch (error) {
      if (!(error instanceof BadLine)) throw error;
      this.checkHeader(bytes, from, line);
      // Whatever its stamp has said does not count either.
      Object.assign(this, { dayOffset, lastClock, firstOffset });
      const kept = this.needsRow(row);
      if (kept) this.emptyRow(row);
      this.badLines.add(error, kept);
      return kept ? KEPT : LEFT_OUT;
    }
  }

  private checkHeader(bytes: Uint8Array, from: number, line: number): void {
    let to = from;
    while (bytes[to] !== LF && bytes[to] !== CR) to++;
    const text = new TextDecoder().decode(bytes.subarray(from, to));
    if (!isOtherHeader(cellsOf(text, this.layout.separator, this.layout.groupMark), this.layout)) return;
    const problem = `"${text.slice(0, 60)}" names other units or another order of columns than the header above.`;
    this.fail(line, 1, problem, 'Split the file before this line.');
  }

  /** Without stamps, or where rows share them, only a row of its own shows that a sample is missing. */
  private needsRow(row: number): boolean {
    if (this.layout.timeFormat === null) return true;
    const from = Math.max(1, row - rowsLookedAt);
    const { times } = this.rows;
    let shared = 0;
    for (let r = from; r < row; r++) if (times[r] === times[r - 1]) shared++;
    if (row > from) this.sharesStamps = 2 * shared >= row - from;
    return this.sharesStamps && !Number.isNaN(row > 0 ? times[row - 1]! : this.lastTime);
  }

  private emptyRow(row: number): void {
    const { times, values } = this.rows;
    for (const v of values) v[row] = Number.NaN;
    if (this.layout.timeFormat !== null) times[row] = row > 0 ? times[row - 1]! : this.lastTime;
  }

  private parseRow(bytes: Uint8Array, from: number, row: number, line: number, cutEnd: number): number {
    const { roles, separator, spaced, decimals } = this;
    const { times, values } = this.rows;
    let i = from;
    let valueIndex = 0;
    for (let column = 0; column < roles.length; column++) {
      if (column > 0) {
        const c = bytes[i]!;
        if (c === LF || c === CR) {
          if (skipLine(bytes, i) === cutEnd) return CUT;
          const problem = `the line has ${column} columns, not ${roles.length}.`;
          this.bad(line, column + 1, problem);
        }
        if (!spaced) i++;
      }
      while (bytes[i] === 0x20 || (spaced && bytes[i] === 9)) i++;
      const role = roles[column]!;
      if (role === VALUE) {
        i = this.number(bytes, i, values[valueIndex]!, row, decimals[valueIndex]!, line, column);
        valueIndex++;
      } else if (role === TIME) {
        i = this.number(bytes, i, times, row, -1, line, column);
        times[row] = times[row]! * this.timeScale;
      } else {
        const end = cellEnd(bytes, i, separator, spaced);
        if (role === STAMP) times[row] = this.stamp(bytes, i, end, line, column);
        i = end;
      }
      if (spaced) while (bytes[i] === 0x20 || bytes[i] === 9) i++;
    }
    return skipLine(bytes, i);
  }

  /**
   * Puts one number cell into `out[row]`, as a whole number of 10^-wanted (plain when wanted is -1), and returns where the
   * cell ends: a returned fraction would be a heap object per cell, a returned place is none.
   * Most cells are a sign, at most nine digits and a mark, whose digits add up in an int32; others take longer.
   */
  private number(
    bytes: Uint8Array,
    from: number,
    out: Float64Array,
    row: number,
    wanted: number,
    line: number,
    column: number,
  ): number {
    const { separator, mark } = this;
    let i = from;
    const negative = bytes[i] === 0x2d;
    if (negative) i++;
    const digitsFrom = i;
    let m = 0;
    let c = bytes[i]!;
    for (; (c - 48) >>> 0 <= 9; c = bytes[++i]!) m = (m * 10 + c - 48) | 0;
    let digits = i - digitsFrom;
    let places = 0;
    if (c === mark && mark !== separator) {
      const fractionFrom = ++i;
      for (c = bytes[i]!; (c - 48) >>> 0 <= 9; c = bytes[++i]!) m = (m * 10 + c - 48) | 0;
      places = i - fractionFrom;
      digits += places;
    }
    const ends = c === separator || c === LF || c === CR;
    if (!ends || digits === 0 || digits > 9) return this.anyNumber(bytes, from, out, row, wanted, line, column);
    const v = shifted(m, wanted < 0 ? places : places - wanted);
    out[row] = negative ? -v : v;
    return i;
  }

  /** The same for quotes, exponents, blanks and many digits: these add up in a double, exact to the last bit for up to 15. */
  private anyNumber(
    bytes: Uint8Array,
    from: number,
    out: Float64Array,
    row: number,
    wanted: number,
    line: number,
    column: number,
  ): number {
    const { separator, mark, spaced } = this;
    let i = from;
    const quoted = bytes[i] === 0x22;
    if (quoted) i++;
    const negative = bytes[i] === 0x2d;
    if (negative || bytes[i] === 0x2b) i++;
    const digitsFrom = i;
    let m = 0;
    for (let d = bytes[i]! - 48; d >= 0 && d <= 9; d = bytes[++i]! - 48) m = m * 10 + d;
    let digits = i - digitsFrom;
    let places = 0;
    if (bytes[i] === mark && (mark !== separator || spaced || quoted)) {
      const fractionFrom = ++i;
      for (let d = bytes[i]! - 48; d >= 0 && d <= 9; d = bytes[++i]! - 48) m = m * 10 + d;
      places = i - fractionFrom;
      digits += places;
    }
    const mantissaEnd = i;
    const power = digits > 0 && (bytes[i]! | 0x20) === LETTER_E;
    if (power) i = powerEnd(bytes, i);
    const numberEnd = i;
    const closed = bytes[i] === 0x22;
    if (closed) i++;
    while (!spaced && bytes[i] === 0x20) i++;
    const c = bytes[i]!;
    const ends = c === separator || c === LF || c === CR || (spaced && c === 9);
    if (power && ends && quoted === closed && numberEnd > mantissaEnd) {
      const v = withPower(bytes, digitsFrom, numberEnd, mark) * (wanted < 0 ? 1 : powersOfTen[wanted]!);
      if (Number.isFinite(v)) {
        out[row] = negative ? -v : v;
        return i;
      }
    }
    if (digits === 0 || digits > 300 || power || !ends || quoted !== closed) {
      const end = cellEnd(bytes, from, separator, spaced);
      out[row] = this.slowCell(bytes, from, end, line, column, wanted);
      return end;
    }
    const v = shifted(m, wanted < 0 ? places : places - wanted);
    out[row] = negative ? -v : v;
    return i;
  }

  private finish(count: number, line: number): ParsedRows {
    this.line = line;
    this.rows.count = count;
    if (count > 0 && this.layout.timeFormat !== null) this.lastTime = this.rows.times[count - 1]!;
    return this.rows;
  }

  /** A row takes at least two bytes. */
  private makeRoom(bytes: number): void {
    const most = (bytes >> 1) + 1;
    if (this.rows.lines.length < most) this.rows.lines = new Int32Array(most);
    const hasTime = this.layout.timeFormat !== null;
    if (hasTime && this.rows.times.length < most) this.rows.times = new Float64Array(most);
    for (const [k, v] of this.rows.values.entries()) {
      if (v.length < most) this.rows.values[k] = new Float64Array(most);
    }
  }

  /** Words for "nothing", what is written unusually, and what is no number at all. */
  private slowCell(bytes: Uint8Array, from: number, to: number, line: number, column: number, wanted: number): number {
    const text = withoutGroups(cellText(bytes, from, to), this.group);
    if (/^(|-+|nan|na|n\/a|null|none|[+-]?inf(inity)?)$/i.test(text)) return Number.NaN;
    const plain = this.layout.decimalMark === ',' ? text.replace(',', '.') : text;
    const value = /^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?$/i.test(plain) ? Number(plain) : Number.NaN;
    if (!Number.isFinite(value)) this.bad(line, column + 1, `"${text}" is no number.`);
    return wanted < 0 ? value : value * powersOfTen[wanted]!;
  }

  private stamp(bytes: Uint8Array, from: number, to: number, line: number, column: number): number {
    const quoted = bytes[from] === 0x22 ? 1 : 0;
    let last = to - quoted;
    while (last > from && bytes[last - 1] === 0x20) last--;
    const t = this.stamps.read(bytes, from + quoted, last);
    if (Number.isNaN(t)) this.bad(line, column + 1, `"${cellText(bytes, from, to)}" is no date or time.`);
    return this.onFirstZone(this.isClock ? this.onDay(t) : t, line, column);
  }

  private onDay(t: number): number {
    if (t < this.lastClock - 43_200) this.dayOffset += 86_400;
    this.lastClock = t;
    return t + this.dayOffset;
  }

  /** Stamps with a zone are moments: all are given on the wall clock of the first. */
  private onFirstZone(t: number, line: number, column: number): number {
    const { offsetMinutes } = this.stamps;
    if (this.firstOffset === undefined) this.firstOffset = offsetMinutes;
    if ((offsetMinutes === null) !== (this.firstOffset === null)) {
      const problem = `this time ${offsetMinutes === null ? 'names no zone' : 'names a zone'}, unlike the first.`;
      this.fail(line, column + 1, problem, 'Write all times with a zone, or none.');
    }
    return offsetMinutes === null ? t : t + (this.firstOffset! - offsetMinutes) * 60;
  }

  private bad(line: number, column: number, problem: string): never {
    const place = `line ${line}, column ${column}`;
    throw new BadLine(this.file, 'text', place, problem, 'Repair or comment out the line.');
  }

  private fail(line: number, column: number, problem: string, remedy: string): never {
    throw new FormatError(this.file, 'text', `line ${line}, column ${column}`, problem, remedy);
  }
}

/** `digits` with the decimal mark `places` to the left; one division is exact where a product with 0.1 is not. */
function shifted(digits: number, places: number): number {
  return places > 0 ? digits / powersOfTen[places]! : places === 0 ? digits : digits * powersOfTen[-places]!;
}

function skipLine(bytes: Uint8Array, from: number): number {
  let i = from;
  let c = bytes[i]!;
  while (c !== LF && c !== CR) c = bytes[++i]!;
  return c === CR && bytes[i + 1] === LF ? i + 2 : i + 1;
}

/** Where a cell ends: at the separator or line end, a quoted one after its closing quote. */
function cellEnd(bytes: Uint8Array, from: number, separator: number, spaced: boolean): number {
  let i = from;
  let quoted = false;
  for (;;) {
    const c = bytes[i]!;
    if (c === LF || c === CR) return i;
    if (c === 0x22) quoted = !quoted;
    else if (!quoted && (c === separator || (spaced && c === 9))) return i;
    i++;
  }
}

/** Where the power of ten that begins with the letter at `from` ends; `from` itself when it is none. */
function powerEnd(bytes: Uint8Array, from: number): number {
  let i = from + 1;
  if (bytes[i] === 0x2d || bytes[i] === 0x2b) i++;
  const digitsFrom = i;
  for (let d = bytes[i]! - 48; d >= 0 && d <= 9; d = bytes[++i]! - 48);
  return i > digitsFrom ? i : from;
}

/** A number known to be digits, a decimal mark and a power of ten, to the last bit. */
function withPower(bytes: Uint8Array, from: number, to: number, mark: number): number {
  let text = '';
  for (let i = from; i < to; i++) text += bytes[i] === mark ? '.' : String.fromCharCode(bytes[i]!);
  return Number(text);
}

function cellText(bytes: Uint8Array, from: number, to: number): string {
  const cell = bytes.subarray(from, Math.min(to, from + 60));
  const text = utf8.decode(cell);
  return (text.includes('\ufffd') ? fromWindows1252(cell) : text)
    .trim()
    .replace(/^"(.*)"$/, '$1')
    .trim();
}
