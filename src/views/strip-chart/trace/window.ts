import type { Band } from '../layout';
import type { ClockMap, StripTrack, TraceColumns } from '../model';
import { axisSecondsAt, type TimeScale, xOf } from '../time-scale';

/** mV to pixels within one trace band. */
export interface GainScale {
  /** Value on the reference line, mV. */
  readonly baseMv: number;
  /** Where that line lies, CSS pixels from the chart's top. */
  readonly baseY: number;
  readonly pxPerMv: number;
}

/** R peaks need more room than S waves. */
const belowShare = 0.33;
/** From this much room below on, more height is shared out evenly, so that the trace lies in the middle of its paper. */
const belowEnoughPx = 50;

export function gainScale(band: Band, baseMv: number, pxPerMv: number): GainScale {
  const share = band.height * belowShare;
  const below = share <= belowEnoughPx ? share : belowEnoughPx + (band.height - belowEnoughPx / belowShare) * 0.45;
  return { baseMv, baseY: Math.round(band.top + band.height - below), pxPerMv };
}

export function yOf(gain: GainScale, mv: number): number {
  return gain.baseY - (mv - gain.baseMv) * gain.pxPerMv;
}

/** Up to so many samples a device pixel the line runs through the samples themselves; beyond, columns of min and max. */
const samplesPerPixelLimit = 3;

/** Room for the middles of columns while their median is sought. */
const middles = new Float64Array(400);

/** What one trace band shows now: equally spaced columns (or single samples) with their pixel positions. */
export class TraceWindow {
  count = 0;
  /** CSS pixels of the first column's centre and between centres. */
  firstX = 0;
  stepX = 1;
  perSample = false;
  state: 'exact' | 'coarse' | 'absent' = 'absent';
  min = new Float32Array(0);
  max = new Float32Array(0);
  gain: GainScale = { baseMv: 0, baseY: 0, pxPerMv: 1 };
  private columns: TraceColumns = { min: this.min, max: this.max };

  /** Reads the visible columns. Columns lie on a fixed lattice in time, so a pan shifts the picture and changes none. */
  load(track: StripTrack, clock: ClockMap, durationSeconds: number, scale: TimeScale): void {
    const from = clock.fromAxisSeconds(scale.startSeconds);
    const to = clock.fromAxisSeconds(scale.endSeconds);
    const pixels = Math.max(1, Math.round(scale.widthPx * scale.devicePixelRatio));
    this.perSample = (to - from) * track.samplingRateHz <= samplesPerPixelLimit * pixels;
    const stepSeconds = this.perSample ? 1 / track.samplingRateHz : (to - from) / pixels;
    const first = Math.max(0, Math.floor(from / stepSeconds));
    const last = Math.min(Math.ceil(durationSeconds / stepSeconds - 1e-9), Math.ceil(to / stepSeconds) + 1);
    this.count = Math.max(0, last - first);
    if (this.count === 0) {
      this.state = 'exact';
      return;
    }
    this.reserve(this.count);
    this.state = track.columns(first * stepSeconds, last * stepSeconds, this.count, this.columns);
    if (this.state === 'absent') this.count = 0;
    const centre = this.perSample ? 0 : 0.5;
    this.firstX = xOf(scale, clock.toAxisSeconds((first + centre) * stepSeconds));
    this.stepX = xOf(scale, clock.toAxisSeconds((first + centre + 1) * stepSeconds)) - this.firstX;
  }

  /** The y of the lowest point (largest y) of the trace between two x; `fallback` where there is none. */
  lowestY(fromX: number, toX: number, fallback: number): number {
    const [a, b] = this.range(fromX, toX);
    let mv = Number.POSITIVE_INFINITY;
    for (let i = a; i < b; i++) if (this.min[i]! < mv) mv = this.min[i]!;
    return mv === Number.POSITIVE_INFINITY ? fallback : yOf(this.gain, mv);
  }

  highestY(fromX: number, toX: number, fallback: number): number {
    const [a, b] = this.range(fromX, toX);
    let mv = Number.NEGATIVE_INFINITY;
    for (let i = a; i < b; i++) if (this.max[i]! > mv) mv = this.max[i]!;
    return mv === Number.NEGATIVE_INFINITY ? fallback : yOf(this.gain, mv);
  }

  /** Median of the columns' mid values in mV, from about 100 of them; null without signal. */
  medianMv(): number | null {
    const stride = Math.max(1, Math.floor(this.count / 100));
    let n = 0;
    for (let i = 0; i < this.count && n < middles.length; i += stride) {
      const middle = (this.min[i]! + this.max[i]!) / 2;
      if (!Number.isNaN(middle)) middles[n++] = middle;
    }
    return n === 0 ? null : middles.subarray(0, n).sort()[n >> 1]!;
  }

  private range(fromX: number, toX: number): [number, number] {
    const a = Math.max(0, Math.floor((fromX - this.firstX) / this.stepX));
    const b = Math.min(this.count, Math.ceil((toX - this.firstX) / this.stepX) + 1);
    return [a, b];
  }

  private reserve(count: number): void {
    if (this.min.length >= count) return;
    const room = Math.ceil(count * 1.25);
    this.min = new Float32Array(room);
    this.max = new Float32Array(room);
    this.columns = { min: this.min, max: this.max };
  }
}

/**
 * The reference value of a trace: whole steps of `stepMv`, moved only when the signal has wandered well off, so that
 * the trace does not jump while paging.
 */
export function referenceMv(current: number | undefined, medianMv: number | null, stepMv: number): number {
  const onStep = medianMv === null ? 0 : Math.round(medianMv / stepMv) * stepMv;
  if (current === undefined) return onStep;
  if (medianMv === null) return current;
  return Math.abs(medianMv - current) > 1.6 * stepMv ? onStep : current;
}

/** Sample of a recorder under an x, not clipped. */
export function sampleAt(scale: TimeScale, clock: ClockMap, samplingRateHz: number, x: number): number {
  return Math.round(clock.fromAxisSeconds(axisSecondsAt(scale, x)) * samplingRateHz);
}
