import type { Segment } from '../../core/recording/recording';
import { longestSegmentName } from '../../core/recording/segment-names';
import type { SampleIndex } from '../../core/units';
import type { ByteSource } from '../bytes/source';
import { csvCell, unguarded } from '../csv/csv';
import { FormatError } from '../format-error';
import { slashesOf } from './layout';
import type { MarksClock } from './marks';
import { dataLines } from './marks';
import type { GroupMark } from './numbers';
import { segmentPlacer } from './segment-times';
import { datedPattern, type SlashOrder } from './stamp';
import { isNoTimeOfDay } from './stopwatch';
import type { DecimalMark, Separator, TextTable } from './table';
import { cellKind, cellNumber, detectTable, headText, knownStyle } from './table';

export type DurationUnit = 'sample' | 's' | 'ms' | 'min' | 'h';
/** 'elapsed' is `m:ss` or `h:mm:ss` from the recording's first sample. */
export type SegmentUnit = 'sample' | 's' | 'ms' | 'min' | 'h' | 'elapsed' | 'iso' | 'clock';

/** Reason of a unit that a person chose, so that no other one is tried. */
export const asPersonSays = 'as asked';

export interface SegmentsLayout {
  readonly separator: Separator;
  readonly decimalMark: DecimalMark;
  readonly groupMark: GroupMark;
  /** Of dates with slashes. */
  readonly slashes: SlashOrder;
  readonly firstDataLine: number;
  readonly nameColumn: number;
  readonly startColumn: number;
  readonly endColumn: number;
  /** Whether the end column holds ends or durations. */
  readonly endIs: 'end' | 'duration';
  readonly unit: SegmentUnit;
  /** Of durations; ends are in `unit`. */
  readonly durationUnit: DurationUnit;
  readonly why: string;
  readonly rows: readonly (readonly string[])[];
  readonly doubts: readonly string[];
}

export interface ReadSegments {
  /** Sorted by start. */
  readonly segments: readonly Segment[];
  readonly understood: readonly string[];
  readonly warnings: readonly string[];
  readonly dropped: readonly string[];
}

/** Says which columns are name, start and end, and in which unit. */
export async function previewSegments(
  source: ByteSource,
  asked: { readonly separator?: Separator; readonly decimalMark?: DecimalMark; readonly groupMark?: GroupMark } = {},
): Promise<SegmentsLayout> {
  const table = detectTable(source.name, await headText(source), { ...knownStyle(source), ...asked });
  const { nameColumn, startColumn, endColumn, endIs } = findColumns(source.name, table);
  const name = (c: number) => table.header?.[c] ?? '';
  const column = (c: number) => table.rows.map(r => r[c] ?? '');
  const starts = column(startColumn);
  const cells = endIs === 'end' ? [...starts, ...column(endColumn)] : starts;
  const header = endIs === 'end' ? `${name(startColumn)} ${name(endColumn)}` : name(startColumn);
  const { unit, why, sure } = unitOf(cells, header, table.decimalMark);
  const doubts = sure
    ? [...table.doubts]
    : [...table.doubts, `Start and end are read as ${words[unit]} because ${why}.`];
  return {
    separator: table.separator,
    decimalMark: table.decimalMark,
    groupMark: table.groupMark,
    slashes: slashesOf(cells, doubts),
    firstDataLine: table.firstDataLine,
    nameColumn,
    startColumn,
    endColumn,
    endIs,
    unit,
    durationUnit:
      endIs === 'duration' && !column(endColumn).every(c => c.includes(':'))
        ? durationUnit(name(endColumn), unit, doubts)
        : 's',
    why,
    rows: table.rows.slice(0, 8),
    doubts,
  };
}

/** In a header of its own, else that of the starts, else seconds. */
function durationUnit(header: string, unit: SegmentUnit, doubts: string[]): DurationUnit {
  const named = unitFromHeader(header);
  if (named) return named;
  if (unit !== 'iso' && unit !== 'clock' && unit !== 'elapsed') return unit;
  doubts.push(`Nothing says the unit of "${header}": durations are read as seconds.`);
  return 's';
}

function unitFromHeader(header: string): DurationUnit | null {
  const has = (units: string) => new RegExp(`(^|[^a-z])(${units})([^a-z]|$)`, 'i').test(header);
  if (/sample/i.test(header)) return 'sample';
  if (has('ms|msec|milliseconds?')) return 'ms';
  if (has('min|mins|minutes?')) return 'min';
  if (has('h|hr|hrs|hours?')) return 'h';
  return has('s|sec|secs|seconds?') ? 's' : null;
}

const words: Readonly<Record<SegmentUnit, string>> = {
  sample: 'samples',
  s: 'seconds',
  ms: 'milliseconds',
  min: 'minutes',
  h: 'hours',
  elapsed: 'minutes and seconds from the start',
  iso: 'dates and times',
  clock: 'times of day',
};

/** By header names, else the first column of words and the first two of values. */
function findColumns(
  file: string,
  table: TextTable,
): Pick<SegmentsLayout, 'nameColumn' | 'startColumn' | 'endColumn' | 'endIs'> {
  const named = (pattern: RegExp) => table.header?.findIndex(h => pattern.test(h)) ?? -1;
  const kinds = Array.from({ length: table.columnCount }, (_, c) =>
    table.rows.every(r => /number|stamp/.test(cellKind(r[c] ?? '', table.decimalMark))),
  );
  const valued = kinds.flatMap((k, c) => (k ? [c] : []));
  const start = named(/^(start|begin|from|onset)/i);
  const end = named(/^(end|stop|to\b|until|offset)/i);
  const duration = end >= 0 ? -1 : named(/^(duration|dur\b|dur_|length|dauer)/i);
  const name = named(/^(name|segment|label|activity|text|description|event|trial_type)/i);
  const startColumn = start >= 0 ? start : valued.at(-2);
  const endColumn = end >= 0 ? end : duration >= 0 ? duration : valued.at(-1);
  if (startColumn === undefined || endColumn === undefined || startColumn === endColumn) {
    const problem = 'there are no two columns for start and end.';
    throw new FormatError(file, 'segments', `line ${table.firstDataLine}`, problem, 'Give the columns name,start,end.');
  }
  const others = kinds.findIndex((_, c) => c !== startColumn && c !== endColumn);
  const endIs = duration >= 0 ? 'duration' : 'end';
  return { nameColumn: name >= 0 ? name : others, startColumn, endColumn, endIs };
}

function unitOf(
  cells: readonly string[],
  header: string,
  mark: DecimalMark,
): { unit: SegmentUnit; why: string; sure: boolean } {
  if (cells.every(c => cellKind(c, mark) === 'stamp')) {
    if (/(^|[^a-z])(h+:)?m+:ss([^a-z]|$)|elapsed/i.test(header))
      return { unit: 'elapsed', why: 'the header says so', sure: true };
    const late = cells.find(c => isNoTimeOfDay(c) || (/^\d+:\d\d$/.test(c) && Number.parseInt(c, 10) >= 24));
    if (late !== undefined) return { unit: 'elapsed', why: `"${late}" is no time of day`, sure: true };
    return { unit: datedPattern.test(cells[0] ?? '') ? 'iso' : 'clock', why: 'the cells are times', sure: true };
  }
  const named = unitFromHeader(header);
  if (named) return { unit: named, why: 'the header says so', sure: true };
  if (cells.some(c => !Number.isInteger(cellNumber(c, mark))))
    return { unit: 's', why: 'the values have decimals', sure: false };
  const largest = cells.reduce((max, c) => Math.max(max, cellNumber(c, mark)), 0);
  const unit = largest > 20_000 ? 'sample' : 's';
  return { unit, why: `the values are whole numbers up to ${largest}`, sure: false };
}

/** Reads every segment. Overlaps are reported; a segment that is empty, backwards or outside is dropped or cut, and reported. */
export async function readSegments(
  source: ByteSource,
  asked: SegmentsLayout,
  clock: MarksClock,
): Promise<ReadSegments> {
  const warnings: string[] = [];
  const dropped: string[] = [];
  const segments: Segment[] = [];
  const lines = await dataLines(source, asked, true);
  const layout = withinRecording(
    asked,
    lines.map(([, cells]) => cells),
    clock,
    warnings,
  );
  const toSpan = segmentPlacer(layout, clock, warnings);
  for (const [line, cells] of lines) {
    const name = unguarded(cells[layout.nameColumn] ?? '') || `segment ${segments.length + 1}`;
    if (name.length > longestSegmentName) throw longName(source.name, line, name);
    const [startCell, endCell] = [layout.startColumn, layout.endColumn].map(c => (cells[c] ?? '').trim()) as [
      string,
      string,
    ];
    const [start, end] = toSpan(startCell, endCell);
    if (!Number.isFinite(start)) throw misfit(source.name, line, layout.startColumn, startCell, layout.unit);
    if (!Number.isFinite(end)) throw misfit(source.name, line, layout.endColumn, endCell, layout.unit);
    if (end <= start) dropped.push(`${name} (line ${line}): it ends before it starts, or is empty`);
    else if (end <= 0 || start >= clock.sampleCount)
      dropped.push(`${name} (line ${line}): it lies outside the recording`);
    else segments.push(cut(name, line, start, end, clock, warnings));
  }
  segments.sort((a, b) => a.start - b.start || a.end - b.end);
  warnings.push(...overlapping(segments).map(([a, b]) => `${b.name} begins before ${a.name} ends.`));
  return {
    segments,
    understood: [`${segments.length} segments in ${words[layout.unit]}: ${layout.why}.`],
    warnings,
    dropped,
  };
}

/**
 * Times such as 5:00 that lie outside the recording as times of day, and inside it when they count from its start. The
 * last ones may reach beyond its end: of a plan that was ended early.
 */
function withinRecording(
  layout: SegmentsLayout,
  rows: readonly (readonly string[])[],
  clock: MarksClock,
  warnings: string[],
): SegmentsLayout {
  const elapsed: SegmentsLayout = { ...layout, unit: 'elapsed', why: 'as times of day they lie outside' };
  if (layout.unit !== 'clock' || layout.why === asPersonSays || rows.length === 0) return layout;
  const [ofDay, fromStart] = [layout, elapsed].map(l => inside(l, rows, clock)) as [Inside, Inside];
  if (2 * ofDay.whole >= rows.length || fromStart.begun < rows.length || 2 * fromStart.whole < rows.length)
    return layout;
  const first = rows[0]?.[layout.startColumn] ?? '';
  warnings.push(
    `As times of day the segments lie outside the recording: "${first}" is read as minutes and seconds from its start.`,
  );
  return elapsed;
}

/** Segments that begin in the recording, and those of them that lie in it to their end. */
interface Inside {
  readonly begun: number;
  readonly whole: number;
}

function inside(layout: SegmentsLayout, rows: readonly (readonly string[])[], clock: MarksClock): Inside {
  const toSpan = segmentPlacer(layout, clock, []);
  const slack = clock.samplingRateHz;
  const begun = rows
    .map(cells => toSpan((cells[layout.startColumn] ?? '').trim(), (cells[layout.endColumn] ?? '').trim()))
    .filter(([start, end]) => start >= -slack && start < clock.sampleCount && end > start);
  return { begun: begun.length, whole: begun.filter(([, end]) => end <= clock.sampleCount + slack).length };
}

function misfit(file: string, line: number, column: number, cell: string, unit: SegmentUnit): FormatError {
  const problem = `"${cell.slice(0, 40)}" is none of ${words[unit]}.`;
  const place = `line ${line}, column ${column + 1}`;
  return new FormatError(file, 'segments', place, problem, 'Repair the line or change the unit.');
}

function longName(file: string, line: number, name: string): FormatError {
  const problem = `the name has ${name.length} characters; at most ${longestSegmentName} are kept.`;
  return new FormatError(file, 'segments', `line ${line}`, problem, 'Shorten it.');
}

function cut(name: string, line: number, start: number, end: number, clock: MarksClock, warnings: string[]): Segment {
  const last = Math.min(end, clock.sampleCount);
  const first = Math.max(start, 0);
  if (first !== start || last !== end) {
    const seconds = (end - last + first - start) / clock.samplingRateHz;
    warnings.push(`${name} (line ${line}) reaches ${seconds.toFixed(3)} s outside the recording and is cut.`);
  }
  return { name, start: first as SampleIndex, end: last as SampleIndex };
}

/** Segments in order of their starts, each that begins inside an earlier one with the one of these that lasts longest. */
export function overlapping(segments: readonly Segment[]): [earlier: Segment, later: Segment][] {
  const out: [Segment, Segment][] = [];
  const [first, ...rest] = [...segments].sort((a, b) => a.start - b.start);
  let reach = first;
  for (const s of rest) {
    if (s.start < reach!.end) out.push([reach!, s]);
    if (s.end > reach!.end) reach = s;
  }
  return out;
}

/** Samples (half-open) as `name,start_sample,end_sample`, or `name,start_s,end_s` to the microsecond. */
export function segmentsText(segments: readonly Segment[], samplingRateHz: number, unit: 'sample' | 's' = 's'): string {
  const time = (sample: number) => (unit === 'sample' ? String(sample) : (sample / samplingRateHz).toFixed(6));
  const header = unit === 'sample' ? 'name,start_sample,end_sample' : 'name,start_s,end_s';
  const rows = segments.map(s => `${csvCell(oneLine(s.name))},${time(s.start)},${time(s.end)}`);
  return `${[header, ...rows].join('\n')}\n`;
}

/** A table has one row a line. */
function oneLine(name: string): string {
  return name.replace(/[\r\n]+/g, ' ');
}
