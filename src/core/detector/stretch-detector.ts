import type { Marks } from '../marks/markset';
import { firstEndingAfter, normalise } from '../marks/spans';
import { type SampleArray, samplesLike } from '../recording/recording';
import type { Span } from '../units';
import { span } from '../units';
import { apexAt } from './apex';
import { decimate, decimationFactor } from './decimate';
import { certainties, doubtfulStretches } from './doubt';
import { LeadsWindow } from './leads';
import type { NoiseTuning } from './noise/tuning';
import { holdNonFinite, inAll, unseenStretches } from './unseen';
import { WindowAnalyser, type WindowBeats } from './window';

export interface Detection {
  /** R-peak positions in samples of the input. */
  readonly samples: Marks;
  /** Of each, how likely it is that a beat is there. */
  readonly probability: Float32Array;
  /** Normalised spans in which the detector could not see beats: no signal, flat line, or noise above the beats. */
  readonly unsure: Span[];
}

/** Beats are settled in stretches of this length, each seen with `contextS` of signal on both sides. */
const stretchS = 180;
const contextS = 12;
/** So many words are taken at a time: few enough to be near at hand when they are worked on next. */
const pieceWords = 16_384;

/** R peaks of a stretch of signal without long gaps. Positions count from where the stretch begins. */
export class StretchDetector {
  private readonly factor: number;
  private readonly workingHz: number;
  private readonly context: number;
  private readonly capacity: number;
  private readonly leads: LeadsWindow;
  private readonly analyser: WindowAnalyser;
  /** Full-rate words of the window, per lead; made for the types of array first pushed. */
  private words: SampleArray[] | null = null;
  private filled = 0;
  /** Working samples already decimated. */
  private decimated = 0;
  /** Working index of the window's first sample. */
  private base = 0;
  /** Working index up to which beats are settled. */
  private settled = 0;
  private marks = new Int32Array(4096);
  private count = 0;
  private readonly chances: number[] = [];
  /** Working index of settled beats that may lie in the next window. */
  private recent: number[] = [];
  private readonly unsure: Span[] = [];
  private readonly hz: number;
  private readonly tuning: NoiseTuning;
  private readonly gaps: readonly Span[];
  /** Sample of the recording at which the stretch begins. */
  private readonly origin: number;

  /** `gaps` are normalised, in samples of the recording. */
  constructor(samplingRateHz: number, gaps: readonly Span[], origin: number, tuning: NoiseTuning, leadCount: number) {
    this.hz = samplingRateHz;
    this.tuning = tuning;
    this.gaps = gaps;
    this.origin = origin;
    this.factor = decimationFactor(samplingRateHz);
    this.workingHz = samplingRateHz / this.factor;
    this.context = Math.round(contextS * this.workingHz);
    this.capacity = Math.round(stretchS * this.workingHz) + 2 * this.context;
    this.leads = new LeadsWindow(this.workingHz, this.capacity, leadCount);
    this.analyser = new WindowAnalyser(this.workingHz, this.leads.step, leadCount, tuning);
  }

  push(...words: SampleArray[]): void {
    const { leads } = this.leads;
    if (words.length !== leads.length || words.some(w => w.length !== words[0]!.length))
      throw new RangeError(`${leads.length} leads of the same length are needed`);
    this.words ??= words.map(w => samplesLike(w, this.capacity * this.factor));
    for (let taken = 0; taken < words[0]!.length; ) {
      const n = Math.min(words[0]!.length - taken, this.capacity * this.factor - this.filled, pieceWords);
      for (const [k, w] of words.entries()) this.words[k]!.set(w.subarray(taken, taken + n), this.filled);
      this.filled += n;
      taken += n;
      this.decimate(Math.floor(this.filled / this.factor));
      if (this.filled === this.capacity * this.factor) this.settleStretch();
    }
  }

  finish(): Detection {
    const n = Math.floor(this.filled / this.factor);
    if (this.words && n > 0) this.settle(n, this.base + n);
    return {
      samples: this.marks.slice(0, this.count),
      probability: Float32Array.from(this.chances),
      unsure: normalise(this.unsure),
    };
  }

  /** Works out the working samples up to `n`. */
  private decimate(n: number): void {
    for (const [k, { x }] of this.leads.leads.entries()) {
      const words = this.words![k]!;
      decimate(words, this.factor, x, this.decimated, n - this.decimated);
      if (words instanceof Float32Array) holdNonFinite(x, this.decimated, n);
    }
    this.decimated = n;
  }

  /** Settles what the full window allows, then moves the window on by one stretch. */
  private settleStretch(): void {
    const n = this.capacity;
    this.settle(n, this.base + n - this.context);
    const shift = n - 2 * this.context;
    for (const { x } of this.leads.leads) x.copyWithin(0, shift);
    for (const words of this.words!) words.copyWithin(0, shift * this.factor);
    this.analyser.moveOn(shift);
    this.decimated = n - shift;
    this.filled -= shift * this.factor;
    this.base += shift;
  }

  /** Settles beats and unsure spans from where the last stretch ended up to working index `until`. */
  private settle(n: number, until: number): void {
    const gaps = this.gapsInWindow(n);
    const unseen = this.leads.leads.map(({ x }) => unseenStretches(x, n, this.workingHz, gaps));
    this.leads.fill(n, unseen, this.analyser.cell);
    const from = this.settled - this.base;
    const settled = this.recent.map(at => at - this.base).filter(at => at >= 0);
    const nowhere = inAll(unseen);
    const found = this.analyser.analyse(this.leads, n, nowhere, from, settled);
    const sure = certainties(found.beats, found.others, this.workingHz);
    this.addBeats(found, sure, n, until - this.base);
    this.addUnsure(found, sure, n, nowhere, from, until - this.base);
    this.settled = until;
  }

  /** Marks the apex of every beat of the window that lies before `until` and was not settled before. */
  private addBeats({ beats }: WindowBeats, sure: readonly number[], n: number, until: number): void {
    const recent: number[] = [];
    const inWindow = this.words!.map(words => words.subarray(0, n * this.factor));
    for (let k = 0; k < beats.length; k++) {
      const { at, apex, up, lead, inNoise } = beats[k]!;
      if (at < until) recent.push(at + this.base);
      if (at < this.settled - this.base || at >= until) continue;
      const centre = Math.round(apex * this.factor) + (this.factor >> 1);
      const mark = inNoise ? centre : apexAt(inWindow[lead]!, apex, this.factor, this.hz, up);
      this.add(this.base * this.factor + mark, sure[k]!);
    }
    this.recent = recent;
  }

  private addUnsure(
    found: WindowBeats,
    sure: readonly number[],
    n: number,
    unseen: Int32Array,
    from: number,
    until: number,
  ): void {
    const { unsureAbove } = this.tuning;
    const stretches = [...unseen, ...doubtfulStretches(found, sure, n, this.workingHz, unsureAbove)];
    for (let k = 0; k < stretches.length; k += 2) {
      const start = Math.max(stretches[k]!, from);
      const end = Math.min(stretches[k + 1]!, until);
      if (end > start) this.unsure.push(span((this.base + start) * this.factor, (this.base + end) * this.factor));
    }
  }

  /** The given gaps that touch the window, in its working samples. */
  private gapsInWindow(n: number): Span[] {
    const out: Span[] = [];
    const first = this.origin + this.base * this.factor;
    const last = first + n * this.factor;
    for (let k = firstEndingAfter(this.gaps, first); k < this.gaps.length && this.gaps[k]!.start < last; k++) {
      const start = Math.max(0, Math.floor((this.gaps[k]!.start - this.origin) / this.factor) - this.base);
      out.push(span(start, Math.min(n, Math.ceil((this.gaps[k]!.end - this.origin) / this.factor) - this.base)));
    }
    return out;
  }

  private add(at: number, probability: number): void {
    if (this.count > 0 && at <= this.marks[this.count - 1]!) return;
    if (this.count === this.marks.length) {
      const more = new Int32Array(this.marks.length * 2);
      more.set(this.marks);
      this.marks = more;
    }
    this.marks[this.count++] = at;
    this.chances.push(probability);
  }
}
