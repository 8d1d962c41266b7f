import type { Segment } from '../../core/recording/recording';
import { longestSegmentName } from '../../core/recording/segment-names';
import type { SampleIndex } from '../../core/units';
import type { ByteSource } from '../bytes/source';
import { csvCell, unguarded } from '../csv/csv';
import { FormatError } from '../format-error';
import { wallMs } from '../opened';
import type { MarksClock } from './marks';
import { dataLines } from './marks';
import type { DecimalMark, Separator, TextTable } from './table';
import { cellKind, cellNumber, detectTable, headText } from './table';
import { cellSeconds } from './time';

export type SegmentUnit = 'sample' | 's' | 'iso' | 'clock';

export interface SegmentsLayout {
  readonly separator: Separator;
  readonly decimalMark: DecimalMark;
  readonly firstDataLine: number;
  readonly nameColumn: number;
  readonly startColumn: number;
  readonly endColumn: number;
  readonly unit: SegmentUnit;
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
  asked: { readonly separator?: Separator; readonly decimalMark?: DecimalMark } = {},
): Promise<SegmentsLayout> {
  const table = detectTable(source.name, await headText(source), asked);
  const [nameColumn, startColumn, endColumn] = findColumns(source.name, table);
  const cells = table.rows.flatMap(r => [r[startColumn] ?? '', r[endColumn] ?? '']);
  const header = `${table.header?.[startColumn] ?? ''} ${table.header?.[endColumn] ?? ''}`;
  const { unit, why, sure } = unitOf(cells, header, table.decimalMark);
  return {
    separator: table.separator,
    decimalMark: table.decimalMark,
    firstDataLine: table.firstDataLine,
    nameColumn,
    startColumn,
    endColumn,
    unit,
    why,
    rows: table.rows.slice(0, 8),
    doubts: sure ? table.doubts : [...table.doubts, `Start and end are read as ${words[unit]} because ${why}.`],
  };
}

const words = { sample: 'samples', s: 'seconds', iso: 'dates and times', clock: 'times of day' } as const;

/** By header names, else the first column of words and the first two of values. */
function findColumns(file: string, table: TextTable): [number, number, number] {
  const named = (pattern: RegExp) => table.header?.findIndex(h => pattern.test(h)) ?? -1;
  const kinds = Array.from({ length: table.columnCount }, (_, c) =>
    table.rows.every(r => /number|stamp/.test(cellKind(r[c] ?? '', table.decimalMark))),
  );
  const valued = kinds.flatMap((k, c) => (k ? [c] : []));
  const start = named(/^(start|begin|from|onset)/i);
  const end = named(/^(end|stop|to\b|until)/i);
  const name = named(/^(name|segment|label|activity|text)/i);
  const startColumn = start >= 0 ? start : valued.at(-2);
  const endColumn = end >= 0 ? end : valued.at(-1);
  if (startColumn === undefined || endColumn === undefined || startColumn === endColumn) {
    const problem = 'there are no two columns for start and end.';
    throw new FormatError(file, 'segments', `line ${table.firstDataLine}`, problem, 'Give the columns name,start,end.');
  }
  const others = kinds.findIndex((_, c) => c !== startColumn && c !== endColumn);
  return [name >= 0 ? name : others, startColumn, endColumn];
}

function unitOf(
  cells: readonly string[],
  header: string,
  mark: DecimalMark,
): { unit: SegmentUnit; why: string; sure: boolean } {
  if (cells.every(c => cellKind(c, mark) === 'stamp')) {
    const dated = /^\d{4}|^\d\d\.\d\d\.\d{4}/.test(cells[0] ?? '');
    return { unit: dated ? 'iso' : 'clock', why: 'the cells are times', sure: true };
  }
  if (/sample/i.test(header)) return { unit: 'sample', why: 'the header says so', sure: true };
  if (/(_s\b|\(s\)|\[s\]|\bsec)/i.test(header)) return { unit: 's', why: 'the header says so', sure: true };
  if (cells.some(c => !Number.isInteger(cellNumber(c, mark))))
    return { unit: 's', why: 'the values have decimals', sure: false };
  const largest = cells.reduce((max, c) => Math.max(max, cellNumber(c, mark)), 0);
  const unit = largest > 20_000 ? 'sample' : 's';
  return { unit, why: `the values are whole numbers up to ${largest}`, sure: false };
}

/** Reads every segment. Overlaps are told; a segment that is empty, backwards or outside is dropped or cut, and told. */
export async function readSegments(
  source: ByteSource,
  layout: SegmentsLayout,
  clock: MarksClock,
): Promise<ReadSegments> {
  const warnings: string[] = [];
  const dropped: string[] = [];
  const segments: Segment[] = [];
  const toIndex = placer(layout, clock, warnings);
  for (const [line, cells] of await dataLines(source, layout, true)) {
    const name = unguarded(cells[layout.nameColumn] ?? '') || `segment ${segments.length + 1}`;
    if (name.length > longestSegmentName) throw longName(source.name, line, name);
    const [start, end] = [layout.startColumn, layout.endColumn].map(c => {
      const index = toIndex((cells[c] ?? '').trim());
      if (Number.isFinite(index)) return index;
      const problem = `"${(cells[c] ?? '').slice(0, 40)}" is none of ${words[layout.unit]}.`;
      throw new FormatError(
        source.name,
        'segments',
        `line ${line}, column ${c + 1}`,
        problem,
        'Repair the line or change the unit.',
      );
    }) as [number, number];
    if (end <= start) dropped.push(`${name} (line ${line}): it ends before it starts, or is empty`);
    else if (end <= 0 || start >= clock.sampleCount)
      dropped.push(`${name} (line ${line}): it lies outside the recording`);
    else segments.push(cut(name, line, start, end, clock, warnings));
  }
  segments.sort((a, b) => a.start - b.start || a.end - b.end);
  warnings.push(...overlaps(segments));
  return {
    segments,
    understood: [`${segments.length} segments in ${words[layout.unit]}: ${layout.why}.`],
    warnings,
    dropped,
  };
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

function overlaps(segments: readonly Segment[]): string[] {
  const out: string[] = [];
  let reach = segments[0];
  for (const s of segments.slice(1)) {
    if (reach && s.start < reach.end) out.push(`${s.name} begins before ${reach.name} ends.`);
    if (!reach || s.end > reach.end) reach = s;
  }
  return out;
}

function placer(layout: SegmentsLayout, clock: MarksClock, warnings: string[]): (cell: string) => number {
  const near = (seconds: number) => Math.floor(seconds * clock.samplingRateHz + 0.5);
  if (layout.unit === 'sample') return cell => Math.floor(cellNumber(cell, layout.decimalMark) + 0.5);
  if (layout.unit === 's') return cell => near(cellNumber(cell, layout.decimalMark));
  const startMs = clock.startedAt === null ? null : wallMs(clock.startedAt);
  if (startMs === null)
    warnings.push('The recording has no start time; times are taken to count from its first sample.');
  const start = startMs === null ? 0 : startMs / 1000;
  if (layout.unit === 'iso') return cell => near(cellSeconds(cell, 'iso', '.', 1) - start);
  const day = ((start % 86_400) + 86_400) % 86_400;
  return cell => {
    const t = cellSeconds(cell, 'clock', '.', 1) - day;
    return near(t < -43_200 ? t + 86_400 : t);
  };
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
