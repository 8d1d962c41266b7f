import type { SampleArray, SampleFormat } from '../../core/recording/recording';
import type { SampleIndex, Span } from '../../core/units';
import type { SampleSink } from '../bytes/source';
import { FormatError } from '../format-error';
import { GapBudget, makeSamples, writeFiller } from '../timeline';
import type { TextColumn, TextLayout } from './layout';
import type { ParsedRows } from './parser';

/** Share of rows that may lie more than half a sample off the even grid before a read is refused. */
const offGridLimit = 0.05;

const maxGaps = 1_000_000;

/** A column whose values do not all fit its stored format. */
export interface MisfitColumn {
  /** Place in the layout. */
  readonly column: number;
  /** The narrowest format that holds every value met. */
  readonly format: SampleFormat;
  /** Line of the first value that does not fit. */
  readonly line: number;
}

/** Words do not fit the formats of their columns; the read has to start again with wider ones. */
export class NeedsWiderFormat extends Error {
  constructor(readonly misfits: readonly [MisfitColumn, ...MisfitColumn[]]) {
    super(misfits.map(m => `column ${m.column + 1} needs ${m.format}`).join(', '));
  }
}

/** How the time stamps lie against the even grid. */
export interface Timing {
  /** Of the first row, in the file's own clock; null without time stamps. */
  readonly firstTimeSeconds: number | null;
  /** Largest distance between a stamp and its place on the grid. */
  readonly worstDriftMs: number;
  /** Largest deviation of one step from the nominal one, gaps apart. */
  readonly worstStepMs: number;
  readonly offGridRows: number;
  readonly rows: number;
  /** Rate that the stamps themselves have between gaps; null when there are too few. */
  readonly meanRateHz: number | null;
}

/**
 * Puts rows on the even grid: samples keep their order, and count from the last gap on. A step longer than 1.5 nominal
 * ones that also leaves the row ahead of its place is a gap. Nothing is resampled.
 */
export class SampleGrid {
  readonly gaps: Span[] = [];
  written = 0;
  emptyCells = 0;

  private readonly values: readonly { column: TextColumn; index: number }[];
  private readonly out: SampleArray[];
  /** By place among the value columns. Once there is one, nothing is written and the rest is only looked through. */
  private readonly misfits = new Map<number, MisfitColumn>();
  private readonly budget: GapBudget;
  private readonly rate: number;
  private readonly toleranceSeconds: number;
  private readonly aheadSeconds: number;
  private rows = 0;
  private lastLine = 1;
  private first = Number.NaN;
  private previous = Number.NaN;
  private anchorTime = 0;
  private anchorIndex = 0;
  private worstDrift = 0;
  private worstStep = 0;
  private offGrid = 0;
  private stepSeconds = 0;
  private steps = 0;

  constructor(
    private readonly file: string,
    private readonly layout: TextLayout,
    private readonly sink: SampleSink,
    fileBytes: number,
  ) {
    this.rate = layout.samplingRateHz!;
    const resolution = layout.stampResolutionMs / 1000;
    this.toleranceSeconds = (0.5 / this.rate + resolution) * (1 + 1e-6);
    this.aheadSeconds = 0.5 / this.rate + (resolution > 1.01 / this.rate ? resolution : 0);
    this.values = layout.columns.flatMap((column, index) => (column.role === 'value' ? [{ column, index }] : []));
    this.out = this.values.map(v => makeSamples(v.column.format, 0));
    this.budget = new GapBudget(file, 'text', fileBytes);
  }

  async add(rows: ParsedRows): Promise<void> {
    let from = 0;
    if (this.layout.timeFormat !== null) {
      for (let r = this.nextGap(rows, 0); r >= 0; r = this.nextGap(rows, r)) {
        await this.put(rows, from, r);
        await this.openGap(rows, r);
        from = r;
      }
    }
    await this.put(rows, from, rows.count);
    if (rows.count > 0) this.lastLine = rows.lines[rows.count - 1]!;
    this.checkGrid(1000);
  }

  /** Throws NeedsWiderFormat with every column that needs it, so that one more read is enough. */
  finish(): void {
    this.checkGrid(20);
    const [first, ...more] = [...this.misfits.values()].sort((a, b) => a.line - b.line || a.column - b.column);
    if (first) throw new NeedsWiderFormat([first, ...more]);
  }

  timing(): Timing {
    return {
      firstTimeSeconds: Number.isNaN(this.first) ? null : this.first,
      worstDriftMs: this.worstDrift * 1000,
      worstStepMs: this.worstStep * 1000,
      offGridRows: this.offGrid,
      rows: this.rows,
      meanRateHz: this.steps >= 10 && this.stepSeconds > 0 ? this.steps / this.stepSeconds : null,
    };
  }

  /**
   * Walks the stamps from row `from` to the first that opens a gap; -1 when none does. When called with the row of a
   * gap just opened, that row is the anchor and its step is not looked at again.
   */
  private nextGap(rows: ParsedRows, from: number): number {
    const { times, count } = rows;
    const { rate, toleranceSeconds, aheadSeconds } = this;
    const nominal = 1 / rate;
    const base = this.rows;
    const opened = this.openedRow;
    const offset = this.written - this.putRows - this.anchorIndex;
    let anchorTime = this.anchorTime;
    let worstDrift = this.worstDrift;
    let offGrid = 0;
    let previous = this.previous;
    for (let r = from; r < count; r++) {
      const t = times[r]!;
      if (Number.isNaN(t)) this.fail(rows, r, 'there is no time stamp.', 'Repair or comment out the line.');
      if (Number.isNaN(previous)) {
        this.first = this.anchorTime = anchorTime = t;
      }

      const ahead = t - anchorTime - (offset + r) / rate;
      const step = t - previous;
      if (step > 1.5 * nominal && ahead > aheadSeconds && r !== opened) {
        this.previous = previous;
        this.worstDrift = worstDrift;
        this.offGrid += offGrid;
        return r;
      }
      if (step < -1.5 * nominal && !this.layout.acceptIrregular) {
        this.fail(
          rows,
          r,
          `time goes back by ${(-step * 1000).toFixed(1)} ms.`,
          'Sort the rows, or accept irregular times.',
        );
      }
      if (r !== opened && !Number.isNaN(step)) this.countStep(step, nominal);
      const drift = ahead < 0 ? -ahead : ahead;
      if (drift > worstDrift) worstDrift = drift;
      if (drift > toleranceSeconds) offGrid++;
      previous = t;
    }
    this.previous = previous;
    this.worstDrift = worstDrift;
    this.offGrid += offGrid;
    this.rows = base + count;
    this.openedRow = -1;
    return -1;
  }

  private putRows = 0;
  private openedRow = -1;

  private countStep(step: number, nominal: number): void {
    const off = step < nominal ? nominal - step : step - nominal;
    if (off > this.worstStep) this.worstStep = off;
    this.stepSeconds += step;
    this.steps++;
  }

  private async openGap(rows: ParsedRows, r: number): Promise<void> {
    const t = rows.times[r]!;
    const target = Math.max(this.written + 1, Math.floor((t - this.first) * this.rate + 0.5 + 1e-4));
    const count = target - this.written;
    const bytes = this.values.reduce((sum, v) => sum + count * (v.column.format === 'int16' ? 2 : 4), 0);
    this.budget.spend(`line ${rows.lines[r]}`, t - this.first, bytes);
    if (this.misfits.size === 0)
      for (const [k, v] of this.values.entries()) await writeFiller(this.sink, k, v.column.format, 0, count);
    this.addGap(this.written, target);
    this.written = target;
    this.anchorTime = t;
    this.anchorIndex = target;
    this.openedRow = r;
  }

  private addGap(start: number, end: number): void {
    const last = this.gaps.at(-1);
    if (last && last.end === start) this.gaps[this.gaps.length - 1] = { start: last.start, end: end as SampleIndex };
    else this.gaps.push({ start: start as SampleIndex, end: end as SampleIndex });
    if (this.gaps.length > maxGaps) {
      const problem = `there are more than ${maxGaps} gaps.`;
      throw new FormatError(
        this.file,
        'text',
        `sample ${start}`,
        problem,
        'Check time column, unit and sampling rate.',
      );
    }
  }

  /** Converts and passes on rows `[from, to)`. */
  private async put(rows: ParsedRows, from: number, to: number): Promise<void> {
    const count = to - from;
    if (count > 0) {
      let empty = 0;
      for (const [k, v] of this.values.entries()) {
        if (this.out[k]!.length < count) this.out[k] = makeSamples(v.column.format, rows.count);
        const source = rows.values[k]!;
        const result = convert(source, from, to, this.out[k]!);
        if (result < 0) this.noteMisfit(k, rows, -result - 1, to);
        else empty += result;
      }
      if (empty > 0) this.noteEmpty(rows, from, to, empty);
      if (this.misfits.size === 0)
        for (const k of this.values.keys()) await this.sink.write(k, this.out[k]!.subarray(0, count));
      this.written += count;
    }
    this.putRows = to === rows.count ? 0 : to;
  }

  /** Widens column `k` to hold rows `[row, to)` too. A sink that cannot begin again is told at once. */
  private noteMisfit(k: number, rows: ParsedRows, row: number, to: number): void {
    const { index, column } = this.values[k]!;
    const known = this.misfits.get(k);
    let format = known?.format ?? column.format;
    for (let r = row; r < to; r++) format = holding(rows.values[k]![r]!, format);
    const misfit = { column: index, format, line: known?.line ?? rows.lines[row]! };
    if (!this.sink.restart) throw new NeedsWiderFormat([misfit]);
    this.misfits.set(k, misfit);
  }

  /** Rows without a value in any column are gaps. */
  private noteEmpty(rows: ParsedRows, from: number, to: number, cells: number): void {
    this.emptyCells += cells;
    for (let r = from; r < to; r++) {
      if (rows.values.every(v => Number.isNaN(v[r]!)))
        this.addGap(this.written + r - from, this.written + r - from + 1);
    }
  }

  private checkGrid(leastRows: number): void {
    if (this.layout.acceptIrregular || this.rows < leastRows || this.offGrid <= this.rows * offGridLimit) return;
    const mean = this.timing().meanRateHz;
    const says = mean === null ? '' : `, and run at ${Number(mean.toPrecision(8))} Hz`;
    const problem =
      `${this.offGrid} of ${this.rows} time stamps so far lie more than half a sample off a grid of ${this.rate} Hz, ` +
      `by ${(this.worstDrift * 1000).toFixed(1)} ms at worst${says}.`;
    throw new FormatError(
      this.file,
      'text',
      `line ${this.lastLine}`,
      problem,
      'Correct the sampling rate, or accept irregular times.',
    );
  }

  private fail(rows: ParsedRows, r: number, problem: string, remedy: string): never {
    throw new FormatError(this.file, 'text', `line ${rows.lines[r]}`, problem, remedy);
  }
}

/** Fills `out` with rows `[from, to)`, 0 for empty ones; returns how many were empty, or -(row + 1) of a misfit. */
function convert(source: Float64Array, from: number, to: number, out: SampleArray): number {
  let empty = 0;
  const exact = !(out instanceof Float32Array);
  for (let r = from, i = 0; r < to; r++, i++) {
    const v = source[r]!;
    out[i] = v;
    if (Number.isNaN(v)) {
      out[i] = 0;
      empty++;
    } else if (exact && out[i] !== v) return -(r + 1);
  }
  return empty;
}

/** The narrowest format, `format` or a wider one, that holds a value; one that is absent fits anywhere. */
function holding(value: number, format: SampleFormat): SampleFormat {
  if (Number.isNaN(value) || format === 'float32') return format;
  if (!Number.isInteger(value) || value < -(2 ** 31) || value >= 2 ** 31) return 'float32';
  return value >= -32_768 && value <= 32_767 ? format : 'int32';
}
