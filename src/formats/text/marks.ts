import { amount } from '../../core/amount';
import { usualRates } from '../../core/detector/marks-fit';
import type { Marks } from '../../core/marks/markset';
import { marksFrom } from '../../core/marks/markset';
import type { ByteSource } from '../bytes/source';
import { FormatError } from '../format-error';
import { areIntervalLengths, isIntervalUnit, otherStyle, styleWords } from './interval-lengths';
import { slashesOf } from './layout';
import { areStamps, type MarkUnit, saysElapsed, unitFromName, unitFromValues, unitWords } from './mark-units';
import { markColumn } from './marks-column';
import type { GroupMark } from './numbers';
import { roundingDoubt } from './resolution';
import { type SlashOrder, stampOf } from './stamp';
import { statedStart } from './stated';
import { elapsedSeconds } from './stopwatch';
import type { DecimalMark, Separator, TextTable } from './table';
import { cellKind, cellNumber, cellsOf, detectTable, headText, isComment, knownStyle } from './table';
import { fromFirstSample, fromStart, type ListClock } from './wall-clock';

/** What was understood of a list of marks. Every field may be changed before it is taken. */
export interface MarksLayout {
  readonly separator: Separator;
  readonly decimalMark: DecimalMark;
  readonly groupMark: GroupMark;
  /** Of dates with slashes. */
  readonly slashes: SlashOrder;
  readonly firstDataLine: number;
  readonly header: readonly string[] | null;
  /** 0-based column that holds the marks. */
  readonly column: number;
  readonly unit: MarkUnit;
  /** Number of the first sample, when the unit is 'sample': 0 or 1. */
  readonly firstSample: 0 | 1;
  /** Where the first beat is, when the unit is an RR interval; seconds from the recording's first sample. */
  readonly startSeconds: number;
  readonly why: string;
  readonly rows: readonly (readonly string[])[];
  readonly doubts: readonly string[];
  /** Of a file of arrays, the names of those that were chosen; absent where none were. */
  readonly variables?: readonly string[];
}

export interface ReadMarks {
  readonly marks: Marks;
  readonly understood: readonly string[];
  readonly warnings: readonly string[];
  readonly dropped: readonly string[];
}

/** What the marks are put on. */
export type MarksClock = ListClock;

/** Samples that marks count on at most; a clock that is as long stands for a recording that is not here. */
export const mostSamples = 0x7fffffff;

/** A list of marks of 14 days at 200 beats a minute is 60 MB at most. */
const largestListBytes = 64 * 2 ** 20;

interface AskedOfMarks {
  readonly separator?: Separator;
  readonly decimalMark?: DecimalMark;
  readonly groupMark?: GroupMark;
  readonly variables?: readonly string[];
}

/** Says what the first 256 KB look like and why. A recording, when known, helps to tell samples from times. */
export async function previewMarks(
  source: ByteSource,
  clock: MarksClock | null = null,
  asked: AskedOfMarks = {},
): Promise<MarksLayout> {
  const { table, column, cells, named, unit, why, doubt } = columnOf(source, await headText(source), asked, clock);
  const doubts = [...(source.made?.doubts ?? []), ...table.doubts, ...doubt];
  const stated = statedStart(table.comments);
  if (isIntervalUnit(unit) && stated === null)
    doubts.push('Nothing says where the first beat is: it is taken to be at the first sample, 0 s.');
  if (!named) doubts.push(`No header names the column's unit; it is taken as ${unitWords[unit]} because ${why}.`);
  return {
    separator: table.separator,
    decimalMark: table.decimalMark,
    groupMark: table.groupMark,
    slashes: slashesOf(cells, doubts),
    firstDataLine: table.firstDataLine,
    header: table.header,
    column,
    unit,
    firstSample: 0,
    startSeconds: stated ?? 0,
    why,
    rows: table.rows.slice(0, 8),
    doubts,
    ...(asked.variables ? { variables: asked.variables } : {}),
  };
}

/** The column with the marks. RR intervals are read so that all are of a length that there is, if there is such a reading. */
function columnOf(source: ByteSource, text: string, asked: AskedOfMarks, clock: MarksClock | null) {
  const known = { ...knownStyle(source), ...asked };
  const read = (style: Partial<TextTable>) => {
    const table = detectTable(source.name, text, { ...known, ...style });
    const column = markColumn(source.name, table);
    const cells = table.rows.map(r => r[column] ?? '').filter(c => cellKind(c, table.decimalMark) !== 'missing');
    const name = table.header?.[column] ?? '';
    // In `time (mm:ss.ms)` nothing is in ms.
    const named = areStamps(cells, table.decimalMark) ? saysElapsed(name) : unitFromName(name);
    return {
      table,
      column,
      cells,
      named,
      ...(named ?? unitFromValues(cells, table.decimalMark, clock)),
      doubt: noDoubt,
    };
  };
  const plain = read({});
  const inNumbers = known.separator === undefined && namesOneColumn(text, plain.table);
  const first = inNumbers ? { ...read({ separator: ';' }), doubt: [commaInNumbers] } : plain;
  const settled = known.decimalMark !== undefined || known.groupMark !== undefined;
  if (settled || !isIntervalUnit(first.unit) || areIntervalLengths(first.cells, first.unit, first.table)) return first;
  const style = otherStyle(first.table);
  const second = style && read({ separator: first.table.separator, ...style });
  if (!second || !areIntervalLengths(second.cells, second.unit, second.table)) return first;
  return { ...second, doubt: [...first.doubt, styleWords(first, second)] };
}

/** Whether a header names one column of marks above rows that a comma would split in two: it is then a part of the numbers. */
function namesOneColumn(text: string, { separator, header, columnCount }: TextTable): boolean {
  if (separator !== ',' || header !== null || columnCount !== 2) return false;
  const top = text.split(/\r\n|\n|\r/).find(l => l.trim() !== '' && !isComment(l, null)) ?? '';
  return !top.includes(',') && unitFromName(top) !== null;
}

const noDoubt: readonly string[] = [];
const commaInNumbers =
  'The header names one column, so the comma in each line is read as part of its number; it may separate two columns.';

/** Reads the whole list by a confirmed layout. Marks are sorted; repeats and marks outside the recording are reported. */
export async function readMarks(source: ByteSource, layout: MarksLayout, clock: MarksClock): Promise<ReadMarks> {
  const lines = await dataLines(source, layout);
  const cut = await cutLine(source, layout, lines);
  if (cut !== null) lines.pop();
  const summaries = lines.filter(([, row]) => row.some((cell, c) => c !== layout.column && summary.test(cell)));
  const listed = lines.filter(line => !summaries.includes(line));
  const cells = listed.flatMap(([number, row]): MarkCell[] => {
    const text = row[layout.column] ?? '';
    return cellKind(text, layout.decimalMark) === 'missing' ? [] : [{ number, text }];
  });
  const read = place(cells, source.name, layout, clock);
  const warnings = [
    ...read.warnings,
    ...missingIntervals(listed, cells, layout),
    ...summaries.slice(0, 1).map(summaryDoubt),
    ...(cut === null ? [] : [cut]),
  ];
  return { ...read, warnings };
}

/** What to ask where intervals between others have no value, so that nothing says how much later the next beats are. */
function missingIntervals(
  lines: readonly (readonly [number, readonly string[]])[],
  cells: readonly MarkCell[],
  { unit, column }: MarksLayout,
): string[] {
  const [first, last] = [cells[0]?.number ?? 0, cells.at(-1)?.number ?? 0];
  const valued = new Set(cells.map(cell => cell.number));
  const empty = lines.filter(([n]) => n > first && n < last && !valued.has(n)).map(([n]) => n);
  if (!isIntervalUnit(unit) || empty.length === 0) return [];
  return [
    `${amount(empty.length, 'RR interval has', 'RR intervals have')} no value, the first in line ${empty[0]}, column ` +
      `${column + 1}: all later marks lie too early by what is missing. Fill them in, or use a list of times.`,
  ];
}

/** What stands beside a number that sums up a list (common practice). */
const summary = /^(mean|average|avg|median|sum|total|count|min(imum)?|max(imum)?|sd|std|mittelwert|summe)\s*:?$/i;

const summaryDoubt = ([number, row]: readonly [number, readonly string[]]) =>
  `Line ${number}, ${JSON.stringify(row.join(' ').slice(0, 40))}, sums up the list; it and others like it are left out.`;

interface MarkCell {
  readonly number: number;
  readonly text: string;
}

function misfit(file: string, { number, text }: MarkCell, layout: MarksLayout): FormatError {
  const problem = `"${text.slice(0, 40)}" is none of ${unitWords[layout.unit]}.`;
  const place = `line ${number}, column ${layout.column + 1}`;
  return new FormatError(file, 'marks', place, problem, 'Repair the line or change the unit.');
}

/**
 * What to say of a last line that was cut inside its number, so that it reads as a smaller one; null when nothing shows
 * that. It has no line end, fewer digits than the mark above, and lies before it or has fewer decimals than all others.
 */
async function cutLine(
  source: ByteSource,
  layout: MarksLayout,
  lines: readonly (readonly [number, readonly string[]])[],
): Promise<string | null> {
  const ending = new TextDecoder().decode(await source.read(Math.max(0, source.size - 1), source.size));
  if (lines.length < 3 || /[\r\n]/.test(ending)) return null;
  const cells = lines.map(([, row]) => row[layout.column] ?? '');
  const [above, last] = [cells.at(-2)!, cells.at(-1)!];
  if (timeUnits.includes(layout.unit) || last.length >= above.length) return null;
  const value = (cell: string) => cellNumber(cell, layout.decimalMark);
  const before = value(last) < value(above) && !layout.unit.startsWith('rr');
  const decimals = cells.map(cell => decimalsOf(cell, layout.decimalMark));
  const others = decimals.slice(0, -1);
  const fewer = others.every(d => d === others[0]) && decimals.at(-1)! < others[0]!;
  if (!before && !fewer) return null;
  return `The list ends inside line ${lines.at(-1)![0]}, at “${last}”: the file was cut. That value is left out.`;
}

function decimalsOf(cell: string, mark: DecimalMark): number {
  const at = cell.indexOf(mark);
  return at < 0 ? 0 : cell.length - 1 - at;
}

/** Cells of every line from the first row on, with line numbers; for `keepEdges` see splitCells. */
export async function dataLines(
  source: ByteSource,
  layout: Pick<MarksLayout, 'separator' | 'decimalMark' | 'groupMark' | 'firstDataLine'>,
  keepEdges = false,
): Promise<[number, readonly string[]][]> {
  if (source.size > largestListBytes) {
    const problem = `the file has ${source.size} bytes; a list may have ${largestListBytes}.`;
    throw new FormatError(source.name, 'text', 'byte 0', problem, 'Open it as a signal, or split it.');
  }
  const text = await headText(source, source.size);
  return text.split(/\r\n|\n|\r/).flatMap((line, i): [number, readonly string[]][] => {
    if (i + 1 < layout.firstDataLine || line.trim() === '' || isComment(line, layout.separator)) return [];
    const text = i === 0 ? line.replace(/^\ufeff/, '') : line;
    return [[i + 1, cellsOf(text, layout.separator, layout.groupMark, keepEdges)]];
  });
}

function place(cells: readonly MarkCell[], file: string, layout: MarksLayout, clock: MarksClock): ReadMarks {
  const warnings: string[] = [];
  const indices = indicesOf(cells, file, layout, clock, warnings);
  const inside = indices.filter(i => i >= 0 && i < clock.sampleCount && i <= mostSamples);
  const marks = marksFrom(inside);
  const outside = indices.length - inside.length;
  const repeats = inside.length - marks.length;
  if (indices.some((x, i) => i > 0 && x < indices[i - 1]!))
    warnings.push('The marks were not in order of time; they are sorted.');
  const lieOutside = outsideDoubt(indices, outside, layout.unit, clock, warnings);
  warnings.push(...(lieOutside.length > 0 ? lieOutside : paceDoubt(indices, clock)));
  if (repeats > 0)
    warnings.push(`${amount(repeats, 'mark repeats', 'marks repeat')} another at the same sample, which is read once.`);
  return {
    marks,
    understood: [
      `${amount(cells.length, 'value')} read as ${unitWords[layout.unit]}: ${layout.why}. ${amount(marks.length, 'mark')}.`,
    ],
    warnings,
    dropped: outside > 0 ? [`${amount(outside, 'mark')} outside the recording`] : [],
  };
}

/** Common practice: beats come 0.2 to 3 s apart, in the median of a list. */
const beatSeconds = { least: 0.2, most: 3 } as const;

/** What to ask of marks that come as no heart beats, such as times of samples, or counts read as seconds. */
function paceDoubt(indices: readonly number[], { samplingRateHz }: MarksClock): string[] {
  const sorted = Float64Array.from(indices).sort();
  const steps = sorted.slice(1).map((x, i) => x - sorted[i]!);
  const apart = steps.sort()[steps.length >> 1]! / samplingRateHz;
  if (steps.length < 10 || (apart >= beatSeconds.least && apart <= beatSeconds.most)) return [];
  return [
    `The marks lie ${Number(apart.toPrecision(3))} s apart in the median; beats lie ${beatSeconds.least} to ` +
      `${beatSeconds.most} s apart. Check their unit, and that this is a list of beats.`,
  ];
}

/** More than this share outside the recording is no slip at its ends; a single mark may be. */
const mostOutside = 0.1;

/** What to ask where many marks lie outside; nothing where that was said with its cause (intervals, an hour off). */
function outsideDoubt(
  indices: readonly number[],
  outside: number,
  unit: MarkUnit,
  clock: MarksClock,
  told: readonly string[],
): string[] {
  if (unit.startsWith('rr') || outside < 2 || outside <= mostOutside * indices.length) return [];
  const rate = unit === 'sample' && 2 * outside > indices.length ? rateHint(indices, clock) : [];
  if (rate.length > 0 || told.some(text => text.includes('with their clock moved by'))) return rate;
  return [
    `${outside} of ${indices.length} marks lie outside the recording and are left out. Is this the list of another ` +
      'recording, or is its clock or unit off? Choose the list of this recording, or correct the unit or the clock.',
  ];
}

/** The lowest usual rate at which all of these would lie in the recording; nothing where there is none. */
function rateHint(indices: readonly number[], { samplingRateHz, sampleCount }: MarksClock): string[] {
  const last = indices.reduce((a, b) => Math.max(a, b), 0);
  const rate = usualRates.find(hz => hz > samplingRateHz && (last / hz) * samplingRateHz < sampleCount);
  if (rate === undefined) return [];
  return [
    `Most of the marks lie after the end. Were they counted at ${rate} Hz, not ${samplingRateHz} Hz? Then all lie inside.`,
  ];
}

function indicesOf(
  cells: readonly MarkCell[],
  file: string,
  layout: MarksLayout,
  clock: MarksClock,
  warnings: string[],
): number[] {
  if (layout.unit === 'sample') return sampleIndices(numbersOf(cells, file, layout), layout, clock, warnings);
  const seconds = secondsOf(cells, file, layout, clock, warnings);
  const rounding = roundingDoubt(seconds, clock.samplingRateHz);
  if (rounding !== null) warnings.push(rounding);
  if (layout.unit.startsWith('rr')) return fromIntervals(seconds, layout.startSeconds, clock, warnings);
  return seconds.map(s => Math.floor(s * clock.samplingRateHz + 0.5));
}

function numbersOf(cells: readonly MarkCell[], file: string, layout: MarksLayout): number[] {
  return cells.map(cell => {
    const value = cellNumber(cell.text, layout.decimalMark);
    if (!Number.isFinite(value)) throw misfit(file, cell, layout);
    return value;
  });
}

/** Of units whose cells are times with colons, which may be written shorter where they end in zeros. */
const timeUnits: readonly MarkUnit[] = ['iso', 'clock', 'elapsed'];

/** Divided by, as 1/1000 has no exact double. */
const perSecond = { s: 1, ms: 1000, us: 1e6, 'rr-ms': 1000, 'rr-s': 1 } as const;
const secondsIn = { min: 60, h: 3600 } as const;

function secondsOf(
  cells: readonly MarkCell[],
  file: string,
  layout: MarksLayout,
  clock: MarksClock,
  warnings: string[],
): number[] {
  const { unit } = layout;
  if (unit === 'sample') throw new RangeError('sample indices are no times');
  if (unit !== 'iso' && unit !== 'clock' && unit !== 'elapsed') {
    return numbersOf(cells, file, layout).map(v =>
      unit === 'min' || unit === 'h' ? v * secondsIn[unit] : v / perSecond[unit],
    );
  }
  if (unit === 'elapsed') {
    const wrong = cells.find(cell => Number.isNaN(elapsedSeconds(cell.text)));
    if (wrong) throw misfit(file, wrong, layout);
    return fromFirstSample(
      cells.map(c => c.text),
      clock,
      warnings,
    );
  }
  const stamps = cells.map(cell => {
    const stamp = stampOf(cell.text, layout.slashes);
    if (!stamp) throw misfit(file, cell, layout);
    return stamp;
  });
  return fromStart(stamps, unit, clock, warnings);
}

/** Indices with decimals are rounded and reported; those that would all fit as seconds are asked about. */
function sampleIndices(
  values: readonly number[],
  layout: MarksLayout,
  clock: MarksClock,
  warnings: string[],
): number[] {
  const broken = values.filter(v => !Number.isInteger(v)).length;
  if (broken > 0) {
    const last = values.reduce((a, b) => Math.max(a, b), 0);
    const seconds =
      clock.sampleCount < mostSamples && last < clock.sampleCount / clock.samplingRateHz
        ? ' As seconds they would all lie in the recording.'
        : '';
    warnings.push(`${broken} of ${values.length} sample indices have decimals and are rounded.${seconds}`);
  }
  return values.map(v => Math.floor(v - layout.firstSample + 0.5));
}

/** The first beat at the start, each further one an interval later. */
function fromIntervals(seconds: readonly number[], start: number, clock: MarksClock, warnings: string[]): number[] {
  const out = [Math.floor(start * clock.samplingRateHz + 0.5)];
  let at = start;
  let bad = 0;
  for (const rr of seconds) {
    if (rr <= 0) bad++;
    at += Math.max(0, rr);
    out.push(Math.floor(at * clock.samplingRateHz + 0.5));
  }
  if (bad > 0) warnings.push(`${amount(bad, 'RR interval is', 'RR intervals are')} not above 0 and taken as 0.`);
  if (clock.sampleCount >= mostSamples) return out;
  const length = clock.sampleCount / clock.samplingRateHz;
  const drift = at - length;
  const percent = (100 * drift) / length;
  const typical = seconds.length > 0 ? (at - start) / seconds.length : 0;
  if (Math.abs(drift) > 2 * typical) {
    const which = drift > 0 ? 'longer' : 'shorter';
    warnings.push(
      `The RR intervals end ${which} than the recording, at ${at.toFixed(3)} s of ${length.toFixed(3)} s: ` +
        `${(drift * 1000).toFixed(0)} ms, ${percent.toFixed(2)} %.`,
    );
  }
  return out;
}
