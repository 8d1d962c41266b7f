import { amount } from '../../core/amount';
import type { SampleFormat } from '../../core/recording/recording';
import type { ByteSource } from '../bytes/source';
import { mvPer } from '../edf/leads';
import type { GroupMark } from './numbers';
import { datedPattern, type SlashOrder, slashOrder, stampOf } from './stamp';
import { statedRates } from './stated';
import { isNoTimeOfDay } from './stopwatch';
import type { DecimalMark, Separator, TextTable } from './table';
import { cellKind, cellNumber, detectTable, headText, knownStyle } from './table';
import type { NumericTime, TimeFormat } from './time';
import { hasDate } from './time';
import {
  findRate,
  findTimeColumn,
  hasEcgRate,
  isAboutFormat,
  isAboutRate,
  noEcgRate,
  rateNeeded,
  ratesIn,
  timeReading,
} from './time-column';

export interface TextColumn {
  readonly name: string;
  readonly role: 'time' | 'value' | 'ignore';
  /** 'uV', 'mV', 'V', 'counts' or what the person calls it; the scale is in `mvPerUnit`. */
  readonly unit: string;
  /** mV per 1 in the file; NaN for counts of a converter until a person has said how many make 1 mV. */
  readonly mvPerUnit: number;
  /** Number in the file that means 0 mV; 0 where absent. */
  readonly zero?: number;
  /** How words are stored: whole numbers of 10^-decimals as int16 or int32, anything else as float32. */
  readonly format: SampleFormat;
  readonly decimals: number;
}

/** What was understood of a text signal. Every field may be changed before the read. */
export interface TextLayout {
  readonly separator: Separator;
  readonly decimalMark: DecimalMark;
  readonly groupMark: GroupMark;
  /** 1-based. */
  readonly firstDataLine: number;
  readonly columns: readonly TextColumn[];
  /** Null without a time column. */
  readonly timeFormat: TimeFormat | null;
  /** Of dates with slashes. */
  readonly slashes: SlashOrder;
  /** `YYYY-MM-DD` of the first row, where the date stands in a column of its own beside times of day; else null. */
  readonly startDate: string | null;
  /** Nominal rate; null when there is nothing to tell it from and the person must say it. */
  readonly samplingRateHz: number | null;
  /** What the rate is in units of time that the column may be in as well; empty where there is no doubt. */
  readonly rateIn: Readonly<Partial<Record<TimeFormat, number>>>;
  /** Finest step the time stamps can show. */
  readonly stampResolutionMs: number;
  /** Read on although the time stamps wander off the even grid. */
  readonly acceptIrregular: boolean;
  /** First eight rows, for the preview. */
  readonly rows: readonly (readonly string[])[];
  readonly understood: readonly string[];
  /** What a person should look at, in words. */
  readonly doubts: readonly string[];
  /** Of a file of arrays, the names of those that were chosen; absent where none were. */
  readonly variables?: readonly string[];
}

/** What the person has settled already; the rest is computed again around it. */
export type TextAsked = Partial<Pick<TextLayout, 'separator' | 'decimalMark' | 'groupMark'>> & {
  /** Of columns that do not say theirs. */
  readonly unit?: string;
  /** What numbers of the time column count, whatever its name says. */
  readonly timeFormat?: NumericTime;
  /** Of a file of arrays, the names of those to read. */
  readonly variables?: readonly string[];
};

/** Reads the first 256 KB and says what it looks like. */
export async function previewText(source: ByteSource, asked: TextAsked = {}): Promise<TextLayout> {
  const table = detectTable(source.name, await headText(source), { ...knownStyle(source), ...asked });
  const layout = layoutFrom(table, asked);
  const { understood = [], doubts = [] } = source.made ?? {};
  const { variables } = asked;
  return {
    ...layout,
    understood: [...understood, ...layout.understood],
    doubts: [...doubts, ...layout.doubts],
    ...(variables ? { variables } : {}),
  };
}

export function layoutFrom(table: TextTable, asked: Pick<TextAsked, 'unit' | 'timeFormat'> = {}): TextLayout {
  const doubts = [...table.doubts];
  const column = (c: number) => table.rows.map(r => r[c] ?? '');
  const timeColumn = findTimeColumn(table, column);
  const stated = statedRates(table.comments);
  const reading = timeColumn < 0 ? null : timeReading(table, timeColumn, stated.rates, asked.timeFormat, doubts);
  if (timeColumn < 0) doubts.push(...unreadTimes(table, column));
  const timeFormat = reading?.format ?? null;
  const columns = Array.from({ length: table.columnCount }, (_, c) =>
    describeColumn(table, column(c), c, c === timeColumn ? 'time' : null, asked.unit, doubts),
  );
  const slashes = slashesOf(timeFormat === 'iso' ? column(timeColumn) : [], doubts);
  const rate = findRate(stated, reading, table.decimalMark, slashes, doubts);
  return {
    separator: table.separator,
    decimalMark: table.decimalMark,
    groupMark: table.groupMark,
    firstDataLine: table.firstDataLine,
    columns,
    timeFormat,
    slashes,
    // A stopwatch does not say when on that day.
    startDate: timeFormat === 'clock' && !reading?.cells.some(isNoTimeOfDay) ? dateBeside(table, column) : null,
    samplingRateHz: rate,
    rateIn: ratesIn(reading, table.decimalMark),
    stampResolutionMs: reading?.resolutionMs ?? 0,
    acceptIrregular: false,
    rows: table.rows.slice(0, 8),
    understood: sentences(table, columns, timeFormat, rate),
    doubts,
  };
}

/** What to say of a column of times that are written in a way that is not read: without it gaps are not seen. */
function unreadTimes(table: TextTable, column: (c: number) => string[]): string[] {
  for (let c = 0; c < table.columnCount; c++) {
    const cells = column(c).filter(v => cellKind(v, table.decimalMark) !== 'missing');
    if (cells.length < 2 || !cells.every(v => /\d:?\d\d:?\d\d/.test(v) && cellKind(v, table.decimalMark) === 'text'))
      continue;
    const label = table.header?.[c] || `Column ${c + 1}`;
    return [
      `"${label}" is left out, as "${cells[0]!.slice(0, 40)}" cannot be read as a time: without it no gap is seen and the ` +
        'start is not known. Write times as 2026-03-14T08:30:00.250.',
    ];
  }
  return [];
}

/** Day first unless the dates say otherwise; asked about where they do not say. */
export function slashesOf(cells: readonly string[], doubts: string[]): SlashOrder {
  const order = slashOrder(cells);
  if (order === 'unclear') {
    const example = cells
      .find(c => c.includes('/'))!
      .slice(0, 10)
      .trim();
    doubts.push(`"${example}" is read with the day first; the month may come first.`);
  }
  return order === 'mdy' ? 'mdy' : 'dmy';
}

/** The date of the first row, from a column in which every cell is a date alone. */
function dateBeside(table: TextTable, column: (c: number) => string[]): string | null {
  for (let c = 0; c < table.columnCount; c++) {
    const cells = column(c);
    if (!cells.every(v => datedPattern.test(v) && !v.includes(':'))) continue;
    const first = stampOf(cells[0] ?? '', slashOrder(cells) === 'mdy' ? 'mdy' : 'dmy');
    if (first) return new Date(first.seconds * 1000).toISOString().slice(0, 10);
  }
  return null;
}

function describeColumn(
  table: TextTable,
  cells: string[],
  c: number,
  role: 'time' | null,
  askedUnit: string | undefined,
  doubts: string[],
): TextColumn {
  const name = table.header?.[c] ?? '';
  const label = name || `column ${c + 1}`;
  const numeric = cells.filter(v => cellKind(v, table.decimalMark) === 'number');
  const bare = { name: label, unit: '', mvPerUnit: 1, format: 'float32', decimals: 0 } as const;
  if (role) return { ...bare, role };
  const present = cells.filter(v => cellKind(v, table.decimalMark) !== 'missing').length;
  if (
    numeric.length === 0 ||
    numeric.length * 2 < present ||
    /^(index|idx|n|row|marker?s?|events?|annotations?|quality)$/i.test(name)
  ) {
    return { ...bare, role: 'ignore' };
  }
  const values = numeric.map(v => cellNumber(v, table.decimalMark));
  if (!saysSignal(name) && isCounter(values)) return { ...bare, role: 'ignore' };
  const unit = unitFrom(name) ?? askedUnit ?? guessUnit(label, values, doubts);
  if (unit === countsUnit) doubts.push(`${label} ${holdsCounts}`);
  const { format, decimals } = storageFor(numeric, values.map(Math.abs), table.decimalMark);
  return {
    name: cleanName(name) || label,
    role: 'value',
    unit,
    mvPerUnit: unit === countsUnit ? Number.NaN : (mvPer(unit) ?? 1),
    format,
    decimals,
  };
}

/** Whether a column's name is that of a signal: a unit of voltage, counts, or the word for it. */
export const saysSignal = (name: string) => unitFrom(name) !== null || /e[ck]g|lead|signal/i.test(name);

/**
 * Whole numbers that nearly always rise by the same step, also when they begin again (a row index, a packet counter): no
 * signal does that.
 */
function isCounter(values: readonly number[]): boolean {
  if (values.length < 8 || !values.every(v => Number.isInteger(v))) return false;
  const steps = values.slice(1).map((v, i) => v - values[i]!);
  const rises = steps.filter(s => s > 0);
  const step = rises[0] ?? 0;
  const held = steps.filter(s => s === 0).length;
  const usual = rises.filter(s => s === step).length;
  return step > 0 && usual >= 0.9 * rises.length && usual + held >= 0.9 * steps.length && usual >= 3;
}

/** Unit of a column whose numbers are those of an analog-to-digital converter, which say no voltage by themselves. */
export const countsUnit = 'counts';

const holdsCounts = 'holds counts of a converter: gain and zero must be given.';
const saysNoUnit = 'does not say its unit; ';

/** The doubts that are left with the layout as it is now: a rate, a scale and a unit of time that were given are none any more. */
export function doubtsLeft({
  columns,
  doubts,
  samplingRateHz,
  timeFormat,
}: Pick<TextLayout, 'columns' | 'doubts' | 'samplingRateHz' | 'timeFormat'>): readonly string[] {
  const values = columns.filter(c => c.role === 'value');
  const counts = values.filter(c => c.unit === countsUnit);
  const isScaled = counts.length > 0 && counts.every(c => Number.isFinite(c.mvPerUnit));
  const areCounts = counts.length === values.length;
  return doubts.filter(d => {
    if (d.endsWith(rateNeeded)) return samplingRateHz === null;
    if (d.endsWith(noEcgRate) && hasEcgRate(samplingRateHz ?? 0)) return false;
    if (!isAboutFormat(d, timeFormat) || !isAboutRate(d, samplingRateHz)) return false;
    return !isScaled || !(d.endsWith(holdsCounts) || (areCounts && d.includes(` ${saysNoUnit}`)));
  });
}

/** A column on the scale a person gave: `perMv` counts make 1 mV, `zero` stands for 0 mV. */
export function withGain(column: TextColumn, perMv: number, zero: number): TextColumn {
  return { ...column, unit: countsUnit, mvPerUnit: 1 / perMv, zero };
}

/** Unit in the name: `ECG (uV)`, `ECG [mV]`, `ecg_uv`, `lead1 uV`, `ECG (counts)`, `ecg_adc`. */
function unitFrom(name: string): string | null {
  if (/[([]\s*(adc|adu|lsb|raw|counts?)\s*[)\]]|[_\s](adc|adu|lsb|raw|counts?)$/i.test(name)) return countsUnit;
  const found = /[([]\s*([µμun]?[mM]?V)\s*[)\]]|[_\s]([µμun]V|mV|V)$/i.exec(name);
  const text = (found?.[1] ?? found?.[2])?.replace(/[µμ]/, 'u').toLowerCase();
  const known: Record<string, string> = { uv: 'uV', mv: 'mV', v: 'V', nv: 'nV' };
  return text ? (known[text] ?? null) : null;
}

/**
 * Whether the cells of a line among the rows are names of columns that say another unit or order than those above, as where
 * files were put behind each other.
 */
export function isOtherHeader(cells: readonly string[], { columns, decimalMark }: TextLayout): boolean {
  if (cells.length !== columns.length) return false;
  return columns.some((column, c) => {
    const cell = cells[c]!;
    if (column.role !== 'value' || cellKind(cell, decimalMark) !== 'text') return false;
    const unit = unitFrom(cell);
    const name = cleanName(cell);
    const isMoved = name !== column.name && columns.some(o => o.role === 'value' && o.name === name);
    return isMoved || (unit !== null && unit !== column.unit);
  });
}

function cleanName(name: string): string {
  return name.replace(/\s*[([][^)\]]*[)\]]\s*$/, '').replace(/[_\s]([µμun]V|mV|V|adc|adu|lsb|raw|counts?)$/i, '');
}

/** Common practice: an ECG swings by some mV, whatever its baseline, so the swing of its numbers gives the unit away. */
function guessUnit(label: string, values: readonly number[], doubts: string[]): string {
  const sorted = Float64Array.from(values).sort();
  const swing =
    (sorted[Math.ceil((sorted.length - 1) * 0.995)] ?? 0) - (sorted[Math.floor((sorted.length - 1) * 0.005)] ?? 0);
  const unit = swing >= 40 ? 'uV' : swing >= 0.04 || swing === 0 ? 'mV' : 'V';
  const middle = sorted[sorted.length >> 1] ?? 0;
  const like =
    Number.isInteger(middle) && swing >= 40 && Math.abs(middle) > swing / 2 && values.every(Number.isInteger);
  const counts = like ? ` They are whole and lie about ${middle}: if they are counts, give gain and zero.` : '';
  doubts.push(
    `${label} ${saysNoUnit}values that swing by ${Number(swing.toPrecision(3))} are read as ${unit}.${counts}`,
  );
  return unit;
}

/** Words that lose nothing: whole numbers of the last decimal seen, when they fit with room; else float32. */
function storageFor(
  cells: readonly string[],
  values: readonly number[],
  decimalMark: DecimalMark,
): { format: SampleFormat; decimals: number } {
  const point = decimalMark === ',' ? /,(\d+)$/ : /\.(\d+)$/;
  let decimals = 0;
  for (const c of cells) {
    if (/e/i.test(c)) return { format: 'float32', decimals: 0 };
    decimals = Math.max(decimals, point.exec(c)?.[1]?.length ?? 0);
  }
  let largest = 0;
  for (const v of values) largest = Math.max(largest, v);
  largest *= 10 ** decimals;
  if (decimals <= 9 && largest <= 32_767) return { format: 'int16', decimals };
  return decimals <= 9 && largest <= 2 ** 30 ? { format: 'int32', decimals } : { format: 'float32', decimals: 0 };
}

function sentences(
  table: TextTable,
  columns: readonly TextColumn[],
  format: TimeFormat | null,
  rate: number | null,
): string[] {
  const names = { ',': 'comma', ';': 'semicolon', '\t': 'tab', space: 'spaces' } as const;
  const values = columns.filter(c => c.role === 'value');
  const lines = [
    `Columns are separated by ${names[table.separator]}; the decimal mark is "${table.decimalMark}".`,
    `Values begin in line ${table.firstDataLine}${table.header ? ', below a header' : ', without a header'}.`,
    `${amount(values.length, 'value column')}: ${values.map(c => `${c.name} in ${c.unit}`).join(', ')}.`,
  ];
  const inWords = format === 'day' ? 'days since 1899-12-30' : format === 'day-1904' ? 'days since 1904-01-01' : format;
  if (format) lines.push(`Time stamps are ${inWords}${hasDate(format) ? ', with a date' : ''}.`);
  if (rate !== null) lines.push(`Sampling rate ${rate} Hz.`);
  return lines;
}
