import { FormatError } from './format-error';
import type { TextLayout } from './text-layout';
import { secondsPer, stampSeconds } from './text-time';

export const maxLineBytes = 1_000_000;

const LF = 10;
const CR = 13;
const SKIP = 0;
const TIME = 1;
const STAMP = 2;
const VALUE = 3;

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
  private readonly roles: Uint8Array;
  private readonly decimals: number[];
  private readonly timeScale: number;
  private readonly separator: number;
  private readonly mark: number;
  private readonly isClock: boolean;
  private line = 1;
  private dayOffset = 0;
  private lastClock = Number.NEGATIVE_INFINITY;

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
    this.mark = decimalMark.charCodeAt(0);
    this.isClock = timeFormat === 'clock';
    this.rows = {
      count: 0,
      times: new Float64Array(0),
      values: values.map(() => new Float64Array(0)),
      lines: new Int32Array(0),
    };
  }

  /**
   * Parses `[start, end)`; the last byte must end a line. Returns the rows. `lastMayBeCut` allows the final line of the
   * file to be too short.
   */
  parse(bytes: Uint8Array, start: number, end: number, lastMayBeCut: boolean): ParsedRows {
    this.makeRoom(end - start);
    const { rows, roles, separator, mark, timeScale, decimals } = this;
    const { times, values, lines } = rows;
    const columnCount = roles.length;
    const firstDataLine = this.layout.firstDataLine;
    const spaced = this.layout.separator === 'space';
    const semicolonComments = this.layout.separator !== ';';
    let row = 0;
    let line = this.line;
    let i = start;

    while (i < end) {
      const lineStart = i;
      let c = bytes[i]!;
      while (c === 0x20 || (c === 9 && separator !== 9)) c = bytes[++i]!;
      const comment =
        c === 0x23 || c === 0x25 || (c === 0x3b && semicolonComments) || (c === 0x2f && bytes[i + 1] === 0x2f);
      if (c === LF || c === CR || comment || line < firstDataLine) {
        i = skipLine(bytes, i);
        line++;
        continue;
      }
      let valueIndex = 0;
      for (let column = 0; column < columnCount; column++) {
        const role = roles[column]!;
        c = bytes[i]!;
        while (c === 0x20 || (spaced && c === 9)) c = bytes[++i]!;
        if (role === SKIP || role === STAMP) {
          const from = i;
          i = cellEnd(bytes, i, separator, spaced);
          if (role === STAMP) times[row] = this.stamp(bytes, from, i, line, column);
        } else {
          const from = i;
          if (c === 0x22) c = bytes[++i]!;
          const negative = c === 0x2d;
          if (negative || c === 0x2b) c = bytes[++i]!;
          let m = 0;
          let places = 0;
          const digitsFrom = i;
          let d = c - 48;
          while (d >= 0 && d <= 9) {
            m = m * 10 + d;
            d = bytes[++i]! - 48;
          }
          let digits = i - digitsFrom;
          if (bytes[i] === mark && (mark !== separator || spaced)) {
            const fractionFrom = ++i;
            d = bytes[i]! - 48;
            while (d >= 0 && d <= 9) {
              m = m * 10 + d;
              d = bytes[++i]! - 48;
            }
            places = i - fractionFrom;
            digits += places;
          }
          c = bytes[i]!;
          if (c === 0x22) c = bytes[++i]!;
          while (!spaced && c === 0x20) c = bytes[++i]!;
          const wanted = role === VALUE ? decimals[valueIndex]! : -1;
          let v: number;
          if (digits === 0 || digits > 300 || (c !== separator && c !== LF && c !== CR && !(spaced && c === 9))) {
            i = cellEnd(bytes, from, separator, spaced);
            v = this.slowCell(bytes, from, i, line, column, wanted);
          } else {
            if (wanted < 0) v = places === 0 ? m : m / powersOfTen[places]!;
            else v = places <= wanted ? m * powersOfTen[wanted - places]! : m / powersOfTen[places - wanted]!;
            if (negative) v = -v;
          }
          if (role === TIME) times[row] = v * timeScale;
          else values[valueIndex++]![row] = v;
        }
        c = bytes[i]!;
        if (spaced) while (c === 0x20 || c === 9) c = bytes[++i]!;
        if (column + 1 < columnCount) {
          if (c === LF || c === CR) {
            if (lastMayBeCut && skipLine(bytes, i) >= end) return this.finish(row, line + 1);
            this.fail(
              line,
              column + 2,
              `the line has ${column + 1} columns, not ${columnCount}.`,
              'Repair or comment out the line.',
            );
          }
          if (!spaced) i++;
        }
      }
      while (c !== LF && c !== CR) c = bytes[++i]!;
      i = c === CR && bytes[i + 1] === LF ? i + 2 : i + 1;
      if (i - lineStart > maxLineBytes)
        this.fail(line, 1, `the line is ${i - lineStart} bytes long.`, 'Choose another format.');
      lines[row++] = line++;
    }
    return this.finish(row, line);
  }

  private finish(count: number, line: number): ParsedRows {
    this.line = line;
    this.rows.count = count;
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

  /** Exponents, words for "nothing", and what is no number at all. */
  private slowCell(bytes: Uint8Array, from: number, to: number, line: number, column: number, wanted: number): number {
    const text = cellText(bytes, from, to);
    if (/^(|-+|nan|na|n\/a|null|none|[+-]?inf(inity)?)$/i.test(text)) return Number.NaN;
    const plain = this.layout.decimalMark === ',' ? text.replace(',', '.') : text;
    const value = /^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?$/i.test(plain) ? Number(plain) : Number.NaN;
    if (!Number.isFinite(value))
      this.fail(line, column + 1, `"${text}" is no number.`, 'Repair or comment out the line.');
    return wanted < 0 ? value : value * powersOfTen[wanted]!;
  }

  private stamp(bytes: Uint8Array, from: number, to: number, line: number, column: number): number {
    const quoted = bytes[from] === 0x22 ? 1 : 0;
    const t = stampSeconds(bytes, from + quoted, to - quoted);
    if (Number.isNaN(t)) {
      this.fail(
        line,
        column + 1,
        `"${cellText(bytes, from, to)}" is no date or time.`,
        'Repair or comment out the line.',
      );
    }
    if (!this.isClock) return t;
    if (t < this.lastClock - 43_200) this.dayOffset += 86_400;
    this.lastClock = t;
    return t + this.dayOffset;
  }

  private fail(line: number, column: number, problem: string, remedy: string): never {
    throw new FormatError(this.file, 'text', `line ${line}, column ${column}`, problem, remedy);
  }
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

function cellText(bytes: Uint8Array, from: number, to: number): string {
  const text = new TextDecoder('utf-8').decode(bytes.subarray(from, Math.min(to, from + 60)));
  return text
    .trim()
    .replace(/^"(.*)"$/, '$1')
    .trim();
}
