import type { Marks } from '../marks/markset';
import { firstEndingAfter, normalise } from '../marks/spans';
import { type SampleArray, samplesLike } from '../recording/recording';
import type { Span } from '../units';
import { span } from '../units';
import { apexAt, pointsUp } from './apex';
import { decimate, decimationFactor } from './decimate';
import { medianAround } from './local';
import { noisyStretches } from './noisy';
import { holdNonFinite, unseenStretches } from './unseen';
import type { WindowBeats } from './window';
import { WindowAnalyser } from './window';

export interface DetectorOptions {
  /** Stretches with no signal, in samples of the recording. */
  readonly gaps?: readonly Span[];
}

export interface Detection {
  /** R-peak positions in samples of the input. */
  readonly samples: Marks;
  /** Normalised spans in which the detector could not see beats: no signal, flat line, or noise above the beats. */
  readonly unsure: Span[];
}

export interface Detector {
  /** Takes the next words of the lead, in pieces of any size. */
  push(words: SampleArray): void;
  finish(): Detection;
}

/** Beats are settled in stretches of this length, each seen with `contextS` of signal on both sides. */
const stretchS = 180;
const contextS = 12;

/** R peaks of one lead held in memory. Same result as `createDetector` fed in pieces. */
export function detectBeats(words: SampleArray, samplingRateHz: number, options: DetectorOptions = {}): Detection {
  const detector = createDetector(samplingRateHz, options);
  detector.push(words);
  return detector.finish();
}

/**
 * R-peak detector for 100 to 2000 Hz, either polarity, in memory that does not grow with the recording except for its
 * marks. The result does not depend on the sizes of the pieces pushed.
 */
export function createDetector(samplingRateHz: number, options: DetectorOptions = {}): Detector {
  if (!(samplingRateHz >= 50 && samplingRateHz <= 10_000))
    throw new RangeError(`sampling rate out of range: ${samplingRateHz} Hz`);
  return new StretchDetector(samplingRateHz, normalise(options.gaps ?? []));
}

class StretchDetector implements Detector {
  private readonly factor: number;
  private readonly workingHz: number;
  private readonly stretch: number;
  private readonly context: number;
  private readonly x: Float32Array;
  private readonly analyser: WindowAnalyser;
  /** Full-rate words of the window; made for the type of array first pushed. */
  private words: SampleArray | null = null;
  private filled = 0;
  /** Working samples already decimated in `#x`. */
  private decimated = 0;
  /** Working index of the window's first sample. */
  private base = 0;
  /** Working index up to which beats are settled. */
  private settled = 0;
  private marks = new Int32Array(4096);
  private count = 0;
  /** Working index of settled beats that may lie in the next window. */
  private recent: number[] = [];
  private readonly unsure: Span[] = [];
  private readonly hz: number;
  private readonly gaps: readonly Span[];

  constructor(samplingRateHz: number, gaps: readonly Span[]) {
    this.hz = samplingRateHz;
    this.gaps = gaps;
    this.factor = decimationFactor(samplingRateHz);
    this.workingHz = samplingRateHz / this.factor;
    this.stretch = Math.round(stretchS * this.workingHz);
    this.context = Math.round(contextS * this.workingHz);
    const capacity = this.stretch + 2 * this.context;
    this.x = new Float32Array(capacity);
    this.analyser = new WindowAnalyser(this.workingHz, capacity);
  }

  push(words: SampleArray): void {
    this.words ??= samplesLike(words, this.x.length * this.factor);
    for (let taken = 0; taken < words.length; ) {
      const n = Math.min(words.length - taken, this.words.length - this.filled);
      this.words.set(words.subarray(taken, taken + n), this.filled);
      this.filled += n;
      taken += n;
      if (this.filled === this.words.length) this.settleStretch();
    }
  }

  finish(): Detection {
    const n = Math.floor(this.filled / this.factor);
    if (this.words && n > 0) this.settle(n, this.base + n);
    return { samples: this.marks.slice(0, this.count), unsure: normalise(this.unsure) };
  }

  /** Settles what the full window allows, then moves the window on by one stretch. */
  private settleStretch(): void {
    const n = this.x.length;
    this.settle(n, this.base + n - this.context);
    const shift = n - 2 * this.context;
    this.x.copyWithin(0, shift);
    this.decimated = n - shift;
    this.words!.copyWithin(0, shift * this.factor);
    this.filled -= shift * this.factor;
    this.base += shift;
  }

  /** Settles beats and unsure spans from where the last stretch ended up to working index `until`. */
  private settle(n: number, until: number): void {
    const words = this.words!;
    decimate(words, this.factor, this.x, this.decimated, n - this.decimated);
    if (words instanceof Float32Array) holdNonFinite(this.x, this.decimated, n);
    this.decimated = n;
    const unseen = unseenStretches(this.x, n, this.workingHz, this.gapsInWindow(n));
    const from = this.settled - this.base;
    const settled = this.recent.map(at => at - this.base).filter(at => at >= 0);
    const found = this.analyser.analyse(this.x, n, unseen, from, settled);
    this.addBeats(found, words.subarray(0, n * this.factor), n, until - this.base);
    this.addUnsure(found, unseen, from, until - this.base);
    this.settled = until;
  }

  /** Marks the apex of every beat of the window that lies before `until` and was not settled before. */
  private addBeats(found: WindowBeats, words: SampleArray, n: number, until: number): void {
    const beats: number[] = [];
    for (let i = 0; i < found.candidates.count; i++) if (found.chosen[i]) beats.push(found.candidates.at[i]!);
    const shape = this.analyser.deflections(n, beats);
    const recent: number[] = [];
    for (const [k, at] of beats.entries()) {
      if (at < until) recent.push(at + this.base);
      if (at < this.settled - this.base || at >= until) continue;
      const usual = medianAround(shape.share, k, 8);
      const up = pointsUp(shape.share[k]!, usual);
      const centre = up ? shape.up[k]! : shape.down[k]!;
      this.add(this.base * this.factor + apexAt(words, centre, this.factor, this.hz, up));
    }
    this.recent = recent;
  }

  private addUnsure(found: WindowBeats, unseen: Int32Array, from: number, until: number): void {
    const stretches = [...unseen, ...noisyStretches(found, this.analyser.cell)];
    for (let k = 0; k < stretches.length; k += 2) {
      const start = Math.max(stretches[k]!, from);
      const end = Math.min(stretches[k + 1]!, until);
      if (end > start) this.unsure.push(span((this.base + start) * this.factor, (this.base + end) * this.factor));
    }
  }

  /** The given gaps that touch the window, in its working samples. */
  private gapsInWindow(n: number): Span[] {
    const out: Span[] = [];
    const first = this.base * this.factor;
    const last = (this.base + n) * this.factor;
    for (let k = firstEndingAfter(this.gaps, first); k < this.gaps.length && this.gaps[k]!.start < last; k++) {
      const start = Math.max(0, Math.floor(this.gaps[k]!.start / this.factor) - this.base);
      out.push(span(start, Math.min(n, Math.ceil(this.gaps[k]!.end / this.factor) - this.base)));
    }
    return out;
  }

  private add(at: number): void {
    if (this.count > 0 && at <= this.marks[this.count - 1]!) return;
    if (this.count === this.marks.length) {
      const more = new Int32Array(this.marks.length * 2);
      more.set(this.marks);
      this.marks = more;
    }
    this.marks[this.count++] = at;
  }
}
