import { type SampleArray, samplesLike } from '../../recording/recording';
import { type Span, span } from '../../units';
import { decimate, decimationFactor } from '../decimate';
import { WaveExtractor, type WavePlaces } from './wave-places';

/**
 * What suspicion needs of a lead, kept in memory for the whole recording: a copy at about 250 Hz (43 MB for 24 hours
 * of int16) and a few numbers per 100 ms cell; of the recorder's other leads at this rate where their waves are. Computed
 * once, in one pass.
 */
export interface SignalFeatures {
  /** Hz of the recording. */
  readonly samplingRateHz: number;
  /** Recording samples per working sample. */
  readonly factor: number;
  readonly workingHz: number;
  /** Box-car means in the words' own unit. */
  readonly working: SampleArray;
  /** Working samples per cell. */
  readonly cell: number;
  /** Mean absolute second difference per cell, divided by 4: its gain rises from 0.23 at 40 Hz to 1 at 125 Hz. */
  readonly highFrequency: Float32Array;
  readonly baseline: Float32Array;
  /** 1 where the cell does not change at all, 2 where it stays at its extreme for 16 ms or more. */
  readonly still: Uint8Array;
  readonly highest: Float32Array;
  readonly lowest: Float32Array;
  /** Inside of long gaps, in samples of the recording: left out here, so that what follows lies that much earlier. */
  readonly cuts: readonly Span[];
  readonly others: readonly WavePlaces[];
}

export interface FeatureExtractor {
  /** One array of the same length per lead: first the one to be judged. */
  push(...words: SampleArray[]): void;
  /** So many samples were not recorded; of a long gap only the edges are kept, as words of 0 mV by lead. */
  skip(count: number, ...zeroWords: number[]): void;
  finish(): SignalFeatures;
}

const cellS = 0.1;
const holdS = 0.016;
/** What is kept of a gap: further than suspicion looks from either side. */
const keptS = 20;

export function signalFeatures(words: SampleArray, samplingRateHz: number, ...others: SampleArray[]): SignalFeatures {
  const extractor = createFeatureExtractor(samplingRateHz, words.length, 1 + others.length);
  extractor.push(words, ...others);
  return extractor.finish();
}

/** `expectedSamples` only saves growing; any number of words may be pushed, in pieces of any size. */
export function createFeatureExtractor(samplingRateHz: number, expectedSamples = 0, leads = 1): FeatureExtractor {
  const factor = decimationFactor(samplingRateHz);
  const workingHz = samplingRateHz / factor;
  const others = Array.from({ length: leads - 1 }, () => new WaveExtractor(workingHz, factor, cellOf(workingHz)));
  return new Extractor(samplingRateHz, expectedSamples, others);
}

class Extractor implements FeatureExtractor {
  private readonly hz: number;
  private readonly factor: number;
  private working: SampleArray | null = null;
  private count = 0;
  private readonly expected: number;
  /** Words that do not fill a working sample yet. */
  private rest: SampleArray | null = null;
  private means = new Float32Array(1 << 14);
  /** Samples of the recording so far. */
  private at = 0;
  private like: SampleArray = new Int16Array(0);
  private readonly cuts: Span[] = [];

  constructor(
    samplingRateHz: number,
    expectedSamples: number,
    private readonly others: readonly WaveExtractor[],
  ) {
    this.hz = samplingRateHz;
    this.factor = decimationFactor(samplingRateHz);
    this.expected = Math.ceil(expectedSamples / this.factor);
  }

  skip(count: number, ...zeroWords: number[]): void {
    // Whole cells, so that those behind a gap begin where they would without the cut.
    const unit = this.factor * cellOf(this.hz / this.factor);
    const cut = Math.max(0, Math.floor((count - keptS * this.hz) / unit) * unit);
    const kept = count - cut;
    const zeros = (length: number) =>
      [0, ...this.others].map((_, k) => samplesLike(this.like, length).fill(zeroWords[k] ?? 0));
    this.push(...zeros(Math.ceil(kept / 2)));
    if (cut > 0) this.cuts.push(span(this.at, this.at + cut));
    this.at += cut;
    this.push(...zeros(Math.floor(kept / 2)));
  }

  push(...leads: SampleArray[]): void {
    for (const [k, other] of this.others.entries()) other.push(leads[k + 1]!);
    const words = leads[0]!;
    this.like = words;
    this.at += words.length;
    let from = 0;
    if (this.rest && this.rest.length > 0) {
      const need = Math.min(words.length, this.factor - this.rest.length);
      this.rest = joined(this.rest, words.subarray(0, need) as SampleArray);
      from = need;
      if (this.rest.length < this.factor) return;
      this.take(this.rest);
      this.rest = null;
    }
    const step = this.means.length * this.factor;
    const whole = words.length - ((words.length - from) % this.factor);
    for (; from < whole; from += step) this.take(words.subarray(from, Math.min(whole, from + step)) as SampleArray);
    if (whole < words.length) this.rest = words.slice(whole) as SampleArray;
  }

  private take(words: SampleArray): void {
    const n = words.length / this.factor;
    decimate(words, this.factor, this.means, 0, n);
    const out = this.room(words, n);
    const integer = !(out instanceof Float32Array);
    for (let i = 0, k = this.count; i < n; i++, k++) {
      const v = this.means[i]!;
      out[k] = integer ? Math.round(v) : Number.isFinite(v) ? v : k > 0 ? out[k - 1]! : 0;
    }
    this.count += n;
  }

  private room(like: SampleArray, n: number): SampleArray {
    const needed = this.count + n;
    if (this.working && needed <= this.working.length) return this.working;
    const length = Math.max(needed, this.expected, 2 * this.count);
    const grown = samplesLike(like, length);
    if (this.working) grown.set(this.working);
    this.working = grown;
    return grown;
  }

  finish(): SignalFeatures {
    const working = (this.working ?? new Int16Array(0)).subarray(0, this.count) as SampleArray;
    const workingHz = this.hz / this.factor;
    const cell = cellOf(workingHz);
    return {
      samplingRateHz: this.hz,
      factor: this.factor,
      workingHz,
      working,
      cell,
      ...cells(working, cell, workingHz),
      cuts: this.cuts,
      others: this.others.map(o => o.finish()),
    };
  }
}

function cellOf(workingHz: number): number {
  return Math.max(4, Math.round(cellS * workingHz));
}

function joined(a: SampleArray, b: SampleArray): SampleArray {
  const out = samplesLike(a, a.length + b.length);
  out.set(a);
  out.set(b, a.length);
  return out;
}

function cells(x: SampleArray, cell: number, workingHz: number) {
  const n = Math.ceil(x.length / cell);
  const highFrequency = new Float32Array(n);
  const baseline = new Float32Array(n);
  const still = new Uint8Array(n);
  const highest = new Float32Array(n);
  const lowest = new Float32Array(n);
  const hold = Math.max(3, Math.round(holdS * workingHz));
  for (let c = 0; c < n; c++) {
    const start = c * cell;
    const end = Math.min(x.length, start + cell);
    let sum = 0;
    let rough = 0;
    let high = x[start]!;
    let low = high;
    for (let i = start; i < end; i++) {
      const v = x[i]!;
      sum += v;
      high = Math.max(high, v);
      low = Math.min(low, v);
      if (i > 0 && i + 1 < x.length) rough += Math.abs(x[i - 1]! - 2 * v + x[i + 1]!);
    }
    highFrequency[c] = rough / 4 / (end - start);
    baseline[c] = sum / (end - start);
    highest[c] = high;
    lowest[c] = low;
    still[c] = high === low ? 1 : holds(x, start, end, high, low, hold) ? 2 : 0;
  }
  return { highFrequency, baseline, still, highest, lowest };
}

function holds(x: SampleArray, start: number, end: number, high: number, low: number, least: number): boolean {
  let run = 0;
  for (let i = start; i < end; i++) {
    const v = x[i]!;
    run = (v === high || v === low) && i > start && x[i - 1] === v ? run + 1 : 0;
    if (run + 1 >= least) return true;
  }
  return false;
}
