import { amount } from '../../core/amount';
import { normalise } from '../../core/marks/spans';
import type { Lead, Recording } from '../../core/recording/recording';
import type { ByteSource, ReadControl, SampleSink } from '../bytes/source';
import { blockBytes } from '../bytes/source';
import { FormatError } from '../format-error';
import type { Naming, Opened } from '../opened';
import { idFrom, wallTime } from '../opened';
import type { BadLines } from './bad-lines';
import type { GridTiming } from './grid';
import { NeedsWiderFormat, SampleGrid } from './grid';
import type { TextColumn, TextLayout } from './layout';

import { maxLineBytes, RowParser } from './parser';
import { hasDate, secondsTo1970 } from './time';

export interface OpenedText extends Opened {
  readonly timing: GridTiming;
  /** The layout that was used in the end: formats may be wider than asked. */
  readonly layout: TextLayout;
}

/**
 * Streams a text signal by a confirmed layout. Words are stored in the format the layout names; when a later value does
 * not fit, the sink restarts and the file is read once more, with every column as wide as its values need.
 */
export async function readTextSignal(
  source: ByteSource,
  layout: TextLayout,
  sink: SampleSink,
  control: ReadControl = {},
  naming: Naming = {},
): Promise<OpenedText> {
  checkLayout(source.name, layout);
  let current = layout;
  for (;;) {
    try {
      return await readOnce(source, current, sink, control, naming);
    } catch (error) {
      if (!(error instanceof NeedsWiderFormat)) throw error;
      if (!sink.restart) throw widerAdvice(source.name, error);
      await sink.restart();
      current = widened(current, error);
    }
  }
}

function checkLayout(file: string, layout: TextLayout): void {
  const fail = (problem: string, remedy: string): never => {
    throw new FormatError(file, 'text', 'layout', problem, remedy);
  };
  const rate = layout.samplingRateHz;
  if (rate === null || !(rate > 0) || rate > 1e6) fail('the sampling rate is not known.', 'Give it in Hz.');
  if (!layout.columns.some(c => c.role === 'value')) fail('no column is a signal.', 'Choose the columns to read.');
  const unscaled = layout.columns.find(c => c.role === 'value' && !isScale(c));
  if (unscaled) fail(`nothing says how many counts of ${unscaled.name} make 1 mV.`, 'Give gain and zero.');
  const times = layout.columns.filter(c => c.role === 'time').length;
  if (times > 1) fail(`${times} columns are marked as time.`, 'Choose one.');
  if ((times === 1) !== (layout.timeFormat !== null))
    fail('time column and time format disagree.', 'Choose both or none.');
}

const isScale = ({ mvPerUnit, zero = 0 }: TextColumn) =>
  Number.isFinite(mvPerUnit) && mvPerUnit !== 0 && Number.isFinite(zero);

function widerAdvice(file: string, { misfits: [first] }: NeedsWiderFormat): FormatError {
  const problem = `column ${first.column + 1} has a value that does not fit its stored format.`;
  return new FormatError(file, 'text', `line ${first.line}`, problem, `Store this column as ${first.format}.`);
}

function widened(layout: TextLayout, { misfits }: NeedsWiderFormat): TextLayout {
  const columns = layout.columns.map((c, i): TextColumn => {
    const format = misfits.find(m => m.column === i)?.format;
    return format ? { ...c, format, decimals: format === 'float32' ? 0 : c.decimals } : c;
  });
  return { ...layout, columns };
}

async function readOnce(
  source: ByteSource,
  layout: TextLayout,
  sink: SampleSink,
  control: ReadControl,
  naming: Naming,
): Promise<OpenedText> {
  const parser = new RowParser(source.name, layout);
  const grid = new SampleGrid(source.name, layout, sink);
  let seen = 0;
  for await (const chunk of wholeLines(source, control)) {
    const rows = parser.parse(chunk.bytes, chunk.start, chunk.end, chunk.unterminated);
    seen += rows.count;
    parser.badLines.check(seen);
    await grid.add(rows);
  }
  grid.finish();
  return result(source, layout, grid, parser, naming);
}

interface Chunk {
  readonly bytes: Uint8Array;
  readonly start: number;
  readonly end: number;
  /** The last line of the file had no line end of its own. */
  readonly unterminated: boolean;
}

/** Cuts the file into blocks that end with a line. A line is read again with the next block rather than carried over. */
async function* wholeLines(source: ByteSource, control: ReadControl): AsyncGenerator<Chunk> {
  for (let at = 0; at < source.size; ) {
    control.signal?.throwIfAborted();
    const bytes = await source.read(at, Math.min(source.size, at + blockBytes));
    if (bytes.length === 0) throw shortFile(source.name, at);
    const start = at === 0 && bytes[0] === 0xef && bytes[1] === 0xbb && bytes[2] === 0xbf ? 3 : 0;
    const isLast = at + bytes.length >= source.size;
    const end = isLast ? bytes.length : lastLineEnd(bytes);
    if (end <= start && !isLast) throw longLine(source.name, at);
    const last = bytes[bytes.length - 1];
    const unterminated = isLast && last !== 10 && last !== 13;
    if (end > start) yield unterminated ? terminated(bytes, start) : { bytes, start, end, unterminated };
    at += end;
    control.onProgress?.(at, source.size);
  }
}

function terminated(bytes: Uint8Array, start: number): Chunk {
  const copy = new Uint8Array(bytes.length + 1);
  copy.set(bytes);
  copy[bytes.length] = 10;
  return { bytes: copy, start, end: copy.length, unterminated: true };
}

/** After the last line feed; without any, after the last carriage return that cannot be half of a CRLF. */
function lastLineEnd(bytes: Uint8Array): number {
  const lineFeed = bytes.lastIndexOf(10);
  return lineFeed >= 0 ? lineFeed + 1 : bytes.lastIndexOf(13, bytes.length - 2) + 1;
}

function longLine(file: string, at: number): FormatError {
  const problem = `no line ends within ${blockBytes} bytes; a line may have ${maxLineBytes}.`;
  return new FormatError(file, 'text', `byte ${at}`, problem, 'Choose another format.');
}

function shortFile(file: string, at: number): FormatError {
  return new FormatError(file, 'text', `byte ${at}`, 'the file ends early.', 'Copy it again.');
}

function result(
  source: ByteSource,
  layout: TextLayout,
  grid: SampleGrid,
  { utcOffsetMinutes, badLines }: RowParser,
  naming: Naming,
): OpenedText {
  if (grid.reached === 0) {
    throw new FormatError(
      source.name,
      'text',
      `line ${layout.firstDataLine}`,
      'there are no rows.',
      'Check the layout.',
    );
  }
  const timing = grid.timing();
  const gaps = normalise(grid.gaps);
  const recording: Recording = {
    id: naming.id ?? idFrom(source.name),
    recorder: naming.recorder ?? 'recorder',
    samplingRateHz: layout.samplingRateHz!,
    sampleCount: grid.reached,
    startedAt: startOf(layout, timing),
    ...zoneOf(layout, utcOffsetMinutes),
    leads: layout.columns.filter(c => c.role === 'value').map(c => leadOf(c, layout.samplingRateHz!, grid)),
    gaps,
    source: `${source.name} (${source.made?.format ?? 'text'})`,
  };
  const rest = { marks: null, marksBy: '', segments: [], dropped: droppedOf(grid), patient: null };
  return {
    ...rest,
    recording,
    timing,
    layout,
    understood: say(layout, timing, gaps.length),
    warnings: [...badLines.inWords(), ...warn(layout, grid, timing, badLines)],
  };
}

function leadOf(c: TextColumn, samplingRateHz: number, { reached, unrecorded }: SampleGrid): Lead {
  const step = c.format === 'float32' ? 1 : 10 ** c.decimals;
  return {
    name: c.name,
    samplingRateHz,
    sampleCount: reached,
    ...(unrecorded.length > 0 ? { unrecorded } : {}),
    format: c.format,
    mvPerUnit: c.mvPerUnit / step,
    offset: (c.zero ?? 0) * step,
    fileUnit: c.unit,
  };
}

function startOf(layout: TextLayout, timing: GridTiming): string | null {
  const { timeFormat, startDate } = layout;
  if (timeFormat === null || timing.firstTimeSeconds === null) return null;
  const ms = (timing.firstTimeSeconds - secondsTo1970(timeFormat)) * 1000;
  if (timeFormat === 'clock' && startDate !== null) return wallTime(Date.parse(`${startDate}T00:00:00Z`) + ms);
  return hasDate(timeFormat) && Math.abs(ms) < 253_402_300_000_000 ? wallTime(ms) : null;
}

/** Seconds since 1970 count in UTC; stamps may name their zone. */
function zoneOf(layout: TextLayout, utcOffsetMinutes: number | null): { utcOffsetMinutes?: number } {
  if (layout.timeFormat?.startsWith('epoch')) return { utcOffsetMinutes: 0 };
  return utcOffsetMinutes === null ? {} : { utcOffsetMinutes };
}

function droppedOf(grid: SampleGrid): string[] {
  const { beyondCells } = grid;
  return beyondCells > 0
    ? [`${amount(beyondCells, 'value')} beyond ±3.4e38 ${beyondCells === 1 ? 'is' : 'are'} read as nothing`]
    : [];
}

function say(layout: TextLayout, timing: GridTiming, gaps: number): string[] {
  const lines = [...layout.understood];
  if (timing.firstTimeSeconds !== null) {
    if (timing.rowsPerStamp > 1) lines.push(`About ${Math.round(timing.rowsPerStamp)} rows share each time stamp.`);
    if (timing.jitterMs > 0) lines.push(`The time stamps jitter by about ±${timing.jitterMs.toFixed(2)} ms.`);
    if (!hasDate(layout.timeFormat!))
      lines.push(`The first sample is at ${Number(timing.firstTimeSeconds.toFixed(6))} s by the file's clock.`);
    lines.push(
      `Time stamps lie within ${timing.worstDriftMs.toFixed(2)} ms of an even grid of ${layout.samplingRateHz} Hz.`,
    );
  }
  if (gaps > 0) lines.push(`${amount(gaps, 'gap is', 'gaps are')} kept as no signal.`);
  return lines;
}

function warn(layout: TextLayout, grid: SampleGrid, timing: GridTiming, bad: BadLines): string[] {
  const warnings: string[] = [];
  const warn = (n: number, text: string) => n > 0 && warnings.push(text);
  if (layout.timeFormat?.startsWith('epoch'))
    warnings.push('The start time is UTC: the file counts from 1970, without a zone.');
  const emptyRows = grid.emptyRows - bad.kept;
  warn(
    emptyRows,
    `${amount(emptyRows, 'row holds', 'rows hold')} no value and ${emptyRows === 1 ? 'is' : 'are'} kept as no signal.`,
  );
  warn(grid.emptyCells, `${amount(grid.emptyCells, 'empty cell is', 'empty cells are')} read as 0 mV.`);
  warn(timing.setBacks, 'The clock goes back by one hour, as at the end of summer time; the samples count on.');
  warn(timing.hourAhead, 'A gap lasts one hour: perhaps the clock was set ahead. It is kept as a gap.');
  if (layout.acceptIrregular && timing.meanRateHz !== null) {
    const apart = Math.abs(timing.meanRateHz / layout.samplingRateHz! - 1) > 0.001;
    warn(
      +apart,
      `The time stamps run at ${Number(timing.meanRateHz.toPrecision(6))} Hz; read at ${layout.samplingRateHz} Hz as asked.`,
    );
  }
  warn(
    timing.offGridRows,
    `${timing.offGridRows} of ${timing.rows} time stamps lie more than half a sample off the even grid ` +
      `(${timing.worstDriftMs.toFixed(1)} ms at worst); samples keep their order and are not resampled.`,
  );
  return warnings;
}
