import type { Candidates } from './candidates';

/**
 * How much a wave resembles beats around it. Beats recur and noise does not: a wave that looks like two of its
 * neighbouring beats is one of their kind, be they normal, ectopic or paced, while an artefact is seldom seen twice.
 * Two, not one, as an artefact mistaken for a beat would vouch for its like.
 * Sources: matched filtering with the patient's own beats, Xue, Hu & Tompkins, IEEE TBME 1992;39:317; templates of
 * several kinds of beats, Krasteva & Jekova, Ann Biomed Eng 2007;35:2065 (both from memory).
 */
export interface CorrelationInput {
  /** Band-passed working samples. */
  readonly band: Float32Array;
  /** How many of them are in use. */
  readonly n: number;
  readonly workingHz: number;
  readonly candidates: Candidates;
  /** 1 where the candidate is taken for a beat. */
  readonly chosen: Uint8Array;
}

/** Waves are compared over this time on either side of their middle: a wide QRS with the start of its T wave. */
const halfS = 0.12;
/** How far two middles may lie beside each other. */
const lagS = 0.032;
/** The band-pass lets little through above 40 Hz, so that every 8 ms is enough. */
const stepS = 0.008;
/** Beats on either side that a wave is held against, and how many of them there have to be. */
const neighbours = 12;
const fewest = 4;
/** From this correlation on a wave is as good as its neighbours; it is not looked at any further. */
export const alike = 0.9;

export class Correlation {
  private readonly input: CorrelationInput;
  private readonly step: number;
  private readonly half: number;
  private readonly lags: number;
  private readonly margin: number;
  private readonly wave: Float32Array;
  /** Candidates that are taken for beats, and per candidate how many of them lie before it. */
  private readonly beats: Int32Array;
  private readonly before: Int32Array;
  /** Sum of squares of the wave looked at. */
  private power = 0;

  constructor(input: CorrelationInput) {
    const { workingHz, candidates, chosen } = input;
    this.input = input;
    this.step = Math.max(1, Math.round(stepS * workingHz));
    this.half = Math.round((halfS * workingHz) / this.step);
    this.lags = Math.round((lagS * workingHz) / this.step);
    this.margin = (this.half + this.lags + 1) * this.step;
    this.wave = new Float32Array(2 * this.half + 1);
    const beats = new Int32Array(candidates.count);
    this.before = new Int32Array(candidates.count);
    let count = 0;
    for (let i = 0; i < candidates.count; i++) {
      this.before[i] = count;
      if (chosen[i]) beats[count++] = i;
    }
    this.beats = beats.subarray(0, count);
  }

  /**
   * Similarity of candidate i to the second most similar of the beats around it, -1 to 1; `alike` where it has that much
   * or where it cannot be told: near an edge of the window, or among fewer than four beats.
   */
  of(i: number): number {
    if (!this.take(i)) return alike;
    const after = this.before[i]! + this.input.chosen[i]!;
    let first = -1;
    let second = -1;
    let seen = 0;
    for (let d = 0; d < 2 * neighbours && second < alike; d++) {
      // In turn the next one before and the next one after.
      const beat = this.beats[d % 2 === 0 ? this.before[i]! - 1 - (d >> 1) : after + (d >> 1)];
      if (beat === undefined || !this.inside(beat)) continue;
      seen++;
      const value = this.bestAt(this.input.candidates.at[beat]!);
      second = Math.max(second, Math.min(first, value));
      first = Math.max(first, value);
    }
    return seen < fewest ? alike : Math.min(alike, second);
  }

  private inside(i: number): boolean {
    const at = this.input.candidates.at[i]!;
    return at >= this.margin && at < this.input.n - this.margin;
  }

  /** Copies the wave of candidate i; false when it reaches out of the window. */
  private take(i: number): boolean {
    if (!this.inside(i)) return false;
    this.power = 0;
    for (let k = 0, q = this.input.candidates.at[i]! - this.half * this.step; k < this.wave.length; k++) {
      const v = this.input.band[q]!;
      this.wave[k] = v;
      this.power += v * v;
      q += this.step;
    }
    return true;
  }

  /** Similarity to the wave around working sample `at`, at the best of the lags: every second one, then those beside it. */
  private bestAt(at: number): number {
    let best = -1;
    let bestLag = 0;
    for (let lag = 0; Math.abs(lag) <= this.lags; lag = lag > 0 ? -lag : 2 - lag) {
      const value = this.at(at + lag * this.step);
      if (value >= alike) return value;
      if (value > best) {
        best = value;
        bestLag = lag;
      }
    }
    const beside = Math.max(this.at(at + (bestLag - 1) * this.step), this.at(at + (bestLag + 1) * this.step));
    return Math.max(best, beside);
  }

  /** One less the squared difference of the two waves over the sum of their squares: shape and size both count. */
  private at(middle: number): number {
    const { band } = this.input;
    const wave = this.wave;
    let product = 0;
    let power = 0;
    for (let k = 0, q = middle - this.half * this.step; k < wave.length; k++) {
      const v = band[q]!;
      product += wave[k]! * v;
      power += v * v;
      q += this.step;
    }
    const both = this.power + power;
    return both > 0 ? (2 * product) / both : 0;
  }
}
