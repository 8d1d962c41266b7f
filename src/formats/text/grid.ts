import { addStretch } from '../../core/recording/pieces';
import type { SampleArray, SampleFormat } from '../../core/recording/recording';
import type { Span } from '../../core/units';
import type { SampleSink } from '../bytes/source';
import { FormatError } from '../format-error';
import { checkTimeline, makeSamples } from '../timeline';
import type { TextColumn, TextLayout } from './layout';
import { measurePace, type Pace } from './pace';
import type { ParsedRows } from './parser';
import { isSerialDate } from './time';

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

const evenPace = {
  rowsPerStamp: 1,
  jitterSeconds: 0,
  slackSeconds: 0,
  wanders: false,
  rateError: 0,
  tickSeconds: 0,
  otherwiseHz: null,
} as const;

/** How the time stamps lie against the even grid. */
export interface GridTiming {
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
  /** Rows that share a stamp, in the median; 1 when each has its own. */
  readonly rowsPerStamp: number;
  /** Robust standard deviation of a stamp about its place; 0 within what the digits show. */
  readonly jitterMs: number;
  /** How often the wall clock was set back by an hour. */
  readonly setBacks: number;
  /** Gaps of one hour, which may be a clock set ahead. */
  readonly hourAhead: number;
}

/**
 * Puts rows on the even grid: samples keep their order, and count from the last gap on. A step longer than 1.5 nominal
 * ones that also leaves the row ahead of its place is a gap. Nothing is resampled.
 */
export class SampleGrid {
  readonly gaps: Span[] = [];
  /** Of these, the stretches that have no rows. */
  readonly unrecorded: Span[] = [];
  /** How far the rows have come on the time line. */
  reached = 0;
  /** Cells without a value in rows that have one in another column. */
  emptyCells = 0;
  /** Rows without any value; each is a gap. Rows of values that no word can hold are not counted here. */
  emptyRows = 0;
  /** Values that no float32 can hold; read as nothing. */
  beyondCells = 0;

  private readonly values: readonly { column: TextColumn; index: number }[];
  private readonly out: SampleArray[];
  /** By place among the value columns. Once there is one, nothing is written and the rest is only looked through. */
  private readonly misfits = new Map<number, MisfitColumn>();
  private readonly rate: number;
  /** Finest step that the stamps show: by their digits, and once they are measured by their clock. */
  private resolutionSeconds: number;
  private pace: Pace | null = null;
  /** Rate that stamps are held against; the stamps' own when another was given and uneven stamps are accepted. */
  private stampRate: number;
  private toleranceSeconds = 0;
  private aheadSeconds = 0;
  private rows = 0;
  private lastLine = 1;
  private first = Number.NaN;
  private previous = Number.NaN;
  /** Sample of the row in which the last new stamp stood. */
  private previousIndex = 0;
  private anchored = false;
  private anchorTime = 0;
  private anchorIndex = 0;
  /** How far the stamps have come to lie ahead of the grid, smoothed; and over how many stamps. */
  private level = 0;
  private levelled = 0;
  private setBackSeconds = 0;
  private setBacks = 0;
  private hourAhead = 0;
  private worstDrift = 0;
  private worstStep = 0;
  private offGrid = 0;
  private stepSeconds = 0;
  private steps = 0;

  constructor(
    private readonly file: string,
    private readonly layout: TextLayout,
    private readonly sink: SampleSink,
  ) {
    this.rate = this.stampRate = layout.samplingRateHz!;
    this.resolutionSeconds = layout.stampResolutionMs / 1000;
    this.values = layout.columns.flatMap((column, index) => (column.role === 'value' ? [{ column, index }] : []));
    this.out = this.values.map(v => makeSamples(v.column.format, 0));
  }

  async add(rows: ParsedRows): Promise<void> {
    let from = 0;
    if (this.layout.timeFormat !== null && rows.count > 0) {
      this.pace ??= this.measured(rows);
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

  timing(): GridTiming {
    return {
      firstTimeSeconds: Number.isNaN(this.first) ? null : this.first,
      worstDriftMs: this.worstDrift * 1000,
      worstStepMs: this.worstStep * 1000,
      offGridRows: this.offGrid,
      rows: this.rows,
      meanRateHz: this.steps >= 10 && this.stepSeconds > 0 ? this.steps / this.stepSeconds : null,
      rowsPerStamp: this.pace?.rowsPerStamp ?? 1,
      jitterMs: (this.pace?.jitterSeconds ?? 0) * 1000,
      setBacks: this.setBacks,
      hourAhead: this.hourAhead,
    };
  }

  /** How the first block's stamps come, and what follows for telling gaps from jitter. */
  private measured({ times, count }: ParsedRows): Pace {
    const stamps = times.subarray(0, Math.min(count, 20_000)).filter(t => !Number.isNaN(t));
    const pace = measurePace(stamps, this.resolutionSeconds) ?? { ...evenPace, rateHz: this.rate };
    if (this.layout.acceptIrregular && Math.abs(pace.rateHz / this.rate - 1) > 0.02) this.stampRate = pace.rateHz;
    const row = 1 / this.stampRate;
    this.resolutionSeconds = Math.max(this.resolutionSeconds, pace.tickSeconds);
    this.toleranceSeconds = (0.5 * row + this.resolutionSeconds) * (1 + 1e-6) + 3 * pace.slackSeconds;
    this.aheadSeconds =
      pace.rowsPerStamp > 1
        ? (1.5 + 0.02 * pace.rowsPerStamp) * row + 4 * pace.slackSeconds
        : 0.5 * row + (pace.tickSeconds > 0 || this.resolutionSeconds > 1.01 * row ? this.resolutionSeconds : 0);
    if (pace.wanders) this.aheadSeconds += 6 * pace.slackSeconds;
    return pace;
  }

  private get shared(): boolean {
    return this.pace!.rowsPerStamp > 1;
  }

  /**
   * Goes along the stamps from row `from` to the first that opens a gap; -1 when none does. When called with the row of
   * a gap just opened, that row is the anchor and its step is not looked at again.
   */
  private nextGap(rows: ParsedRows, from: number): number {
    const { times, count } = rows;
    const { stampRate: rate, shared } = this;
    const base = this.reached - this.putRows;
    const opened = this.openedRow;
    for (let r = from; r < count; r++) {
      if (!shared && this.anchored && r !== opened) r = this.evenSteps(rows, r);
      if (r === count) break;
      if (Number.isNaN(times[r]!)) this.fail(rows, r, 'there is no time stamp.', 'Repair or comment out the line.');
      const t = times[r]! + this.setBackSeconds;
      if (shared && t === this.previous) continue;
      const index = base + r;
      if (!this.anchored) {
        this.anchor(t, index);
        continue;
      }
      const since = index - this.previousIndex;
      const step = t - this.previous;
      const ahead = t - this.anchorTime - (index - this.anchorIndex) / rate;
      const local = ahead - this.level;
      if (r !== opened) {
        const opens = step > (since + 0.5) / rate && local > this.aheadSeconds;
        if (opens && this.persists(rows, r, local)) return r;
        if (step < -1.5 / rate) {
          if (this.isSetBack(step, since / rate)) {
            r--;
            continue;
          }
          this.goesBack(rows, r, step);
        }
        this.countStep(step, since);
      }
      this.follow(ahead, local);
      this.previous = t;
      this.previousIndex = index;
    }
    this.rows += count;
    this.openedRow = -1;
    return -1;
  }

  /**
   * Goes along rows that each have a stamp of their own as long as no step asks for a closer look; returns the first row
   * that does, or the count. Does what countStep and follow do, on locals: this is where most rows of a file pass.
   */
  private evenSteps({ times, count }: ParsedRows, from: number): number {
    const { stampRate: rate, setBackSeconds, anchorTime, aheadSeconds, toleranceSeconds } = this;
    const offset = this.reached - this.putRows - this.anchorIndex;
    const [nominal, longStep] = [1 / rate, 1.5 / rate];
    let { previous, level, levelled, worstDrift, worstStep, offGrid, stepSeconds } = this;
    let r = from;
    for (; r < count; r++) {
      const t = times[r]! + setBackSeconds;
      const step = t - previous;
      const ahead = t - anchorTime - (offset + r) / rate;
      const local = ahead - level;
      // Without a stamp this holds too.
      if (!(step >= -longStep) || (step > longStep && local > aheadSeconds)) break;
      const off = Math.abs(step - nominal);
      if (off > worstStep) worstStep = off;
      stepSeconds += step;
      levelled++;
      const within = Math.max(-aheadSeconds, Math.min(aheadSeconds, local));
      level += within * (levelled < 32 ? 1 / levelled : 1 / 32);
      const drift = Math.abs(ahead);
      if (drift > worstDrift) worstDrift = drift;
      if (Math.abs(level) > toleranceSeconds) offGrid++;
      previous = t;
    }
    if (r > from) this.previousIndex = this.reached - this.putRows + r - 1;
    this.steps += r - from;
    [this.previous, this.level, this.levelled, this.stepSeconds] = [previous, level, levelled, stepSeconds];
    [this.worstDrift, this.worstStep, this.offGrid] = [worstDrift, worstStep, offGrid];
    return r;
  }

  private putRows = 0;
  private openedRow = -1;

  /** Where rows share stamps, the first new one is the first whose place is known. */
  private anchor(t: number, index: number): void {
    const begins = !this.shared || (!Number.isNaN(this.previous) && t !== this.previous);
    if (Number.isNaN(this.previous)) this.first = t;
    if (begins) {
      this.anchored = true;
      this.anchorTime = t;
      this.anchorIndex = index;
      this.first = t - index / this.stampRate;
    }
    this.previous = t;
    this.previousIndex = index;
  }

  private follow(ahead: number, local: number): void {
    this.levelled++;
    const weight = Math.max(this.shared ? 1 / 8 : 1 / 32, 1 / this.levelled);
    this.level += Math.max(-this.aheadSeconds, Math.min(this.aheadSeconds, local)) * weight;
    this.worstDrift = Math.max(this.worstDrift, Math.abs(ahead));
    if (Math.abs(this.level) > this.toleranceSeconds) this.offGrid++;
  }

  /** Stamps that jitter come back to their level; after a gap they stay ahead of it. */
  private persists(rows: ParsedRows, r: number, local: number): boolean {
    const { slackSeconds } = this.pace!;
    if (!this.shared && slackSeconds * this.stampRate <= 0.05) return true;
    const later = this.aheadLater(rows, r);
    if (later.length < 4) return local > 1.5 / this.stampRate + 4 * slackSeconds;
    return (
      later.filter(l => l > 0.5 * local).length >= 0.6 * later.length && later[later.length >> 1]! > this.aheadSeconds
    );
  }

  /** How far the next stamps lie ahead of the level, in order of size. */
  private aheadLater({ times, count }: ParsedRows, r: number): Float64Array {
    const base = this.reached - this.putRows;
    const out: number[] = [];
    for (let i = r + 1; i < count && out.length < (this.shared ? 6 : 24); i++) {
      if (this.shared && times[i] === times[i - 1]) continue;
      const t = times[i]! + this.setBackSeconds;
      out.push(t - this.anchorTime - (base + i - this.anchorIndex) / this.stampRate - this.level);
    }
    return Float64Array.from(out).sort();
  }

  /** A wall clock that goes back by an hour was set back; what follows counts on. */
  private isSetBack(step: number, expected: number): boolean {
    const wall = ['iso', 'clock'].includes(this.layout.timeFormat ?? '') || isSerialDate(this.layout.timeFormat);
    if (!wall || Math.abs(step + 3600 - expected) > 2 + this.resolutionSeconds) return false;
    this.setBackSeconds += 3600;
    this.setBacks++;
    return true;
  }

  private goesBack(rows: ParsedRows, r: number, step: number): void {
    if (this.layout.acceptIrregular) return;
    const problem = `time goes back by ${(-step * 1000).toFixed(1)} ms.`;
    this.fail(rows, r, problem, 'Sort the rows, or accept irregular times.');
  }

  private countStep(step: number, rows: number): void {
    const off = Math.abs(step - rows / this.stampRate);
    if (off > this.worstStep) this.worstStep = off;
    this.stepSeconds += step;
    this.steps += rows;
  }

  private async openGap(rows: ParsedRows, r: number): Promise<void> {
    const t = rows.times[r]! + this.setBackSeconds;
    const target = this.gapEnd(rows, r, t);
    const count = target - this.reached;
    if (Math.abs(t - this.previous - 3600) < 2 + this.resolutionSeconds + this.pace!.rowsPerStamp / this.stampRate)
      this.hourAhead++;
    checkTimeline(this.file, 'text', `line ${rows.lines[r]}`, Math.max(t - this.first, target / this.rate), this.rate);
    if (this.misfits.size === 0) for (const k of this.values.keys()) await this.sink.skip(k, count);
    this.addGap(this.reached, target);
    addStretch(this.unrecorded, this.reached, target);
    this.reached = target;
    this.anchorTime = this.previous = t;
    this.anchorIndex = this.previousIndex = target;
    this.level = this.levelled = 0;
    this.openedRow = r;
  }

  /**
   * Sample that the row after a gap becomes: by the time since the first stamp, unless clock and rate have drifted apart
   * by then, so that the gap would take up the drift; then by how far the stamp lies ahead of those before.
   */
  private gapEnd(rows: ParsedRows, r: number, t: number): number {
    const nearest = (seconds: number) => Math.floor(seconds * this.rate + 0.5 + 1e-4);
    const index = this.reached - this.putRows + r;
    const later = this.pace!.slackSeconds > 0 ? this.aheadLater(rows, r) : [];
    const ahead = t - this.anchorTime - (index - this.anchorIndex) / this.stampRate - this.level;
    const local = this.reached + Math.max(1, nearest(later.length >= 4 ? later[later.length >> 1]! : ahead));
    const absolute = nearest(t - this.first);
    const apart = Math.abs(absolute - local);
    return apart <= Math.max(1, 0.1 * (local - this.reached)) ? Math.max(this.reached + 1, absolute) : local;
  }

  private addGap(start: number, end: number): void {
    addStretch(this.gaps, start, end);
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
        if (v.column.format === 'float32') this.beyondCells += beyond(source, from, to);
      }
      if (empty > 0) this.noteEmpty(rows, from, to);
      if (this.misfits.size === 0)
        for (const k of this.values.keys()) await this.sink.write(k, this.out[k]!.subarray(0, count));
      this.reached += count;
    }
    this.putRows = to === rows.count ? 0 : to;
  }

  /** Widens column `k` to hold rows `[row, to)` too. A sink that cannot restart fails at once. */
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
  private noteEmpty(rows: ParsedRows, from: number, to: number): void {
    for (let r = from; r < to; r++) {
      if (rows.values.some(v => holds(v[r]!))) {
        for (const v of rows.values) if (Number.isNaN(v[r]!)) this.emptyCells++;
      } else {
        if (rows.values.some(v => Number.isNaN(v[r]!))) this.emptyRows++;
        this.addGap(this.reached + r - from, this.reached + r - from + 1);
      }
    }
  }

  private checkGrid(leastRows: number): void {
    if (this.layout.acceptIrregular || this.rows < leastRows || this.offGrid <= this.rows * offGridLimit) return;
    const mean = this.timing().meanRateHz;
    if (mean !== null && Math.abs(mean / this.stampRate - 1) <= this.rateSlack()) return;
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

  /** Stamps that wander like this say no other rate. */
  private rateSlack(): number {
    const steps = Math.max(1, this.steps / this.pace!.rowsPerStamp);
    return 5e-4 + (3 * this.pace!.slackSeconds * this.stampRate) / this.pace!.rowsPerStamp / Math.sqrt(steps);
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
    if (Number.isNaN(v) || (!exact && !Number.isFinite(out[i]!))) {
      out[i] = 0;
      empty++;
    } else if (exact && out[i] !== v) return -(r + 1);
  }
  return empty;
}

const largestFloat32 = 3.4028235677973366e38;

/** Whether a word can hold the value: NaN, and what a float32 makes infinite, is nothing. */
function holds(value: number): boolean {
  return Math.abs(value) < largestFloat32;
}

function beyond(source: Float64Array, from: number, to: number): number {
  let n = 0;
  for (let r = from; r < to; r++) if (Math.abs(source[r]!) >= largestFloat32) n++;
  return n;
}

/** The narrowest format, `format` or a wider one, that holds a value; one that is absent fits anywhere. */
function holding(value: number, format: SampleFormat): SampleFormat {
  if (Number.isNaN(value) || format === 'float32') return format;
  if (!Number.isInteger(value) || value < -(2 ** 31) || value >= 2 ** 31) return 'float32';
  return value >= -32_768 && value <= 32_767 ? format : 'int32';
}
