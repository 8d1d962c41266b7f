import type { SampleArray } from '../recording/recording';
import type { NoiseTuning } from './noise/tuning';
import { medianAround } from './selection';

/**
 * Puts a mark on the R apex. A beat with a wave up and a wave down is marked on the one that is greater by two measures
 * together: how steep it is, which the band-passed signal shows, and how far it goes from the line before and after the
 * beat. Each alone errs: a deep narrow S wave is steeper than a broad R wave, and the line may be off by a ST segment. So
 * steepness counts twice, as it is and among broad waves, after a mean over a third of a QRS complex.
 * Where neither wave is clearly greater the beats around it decide, and between two alike it is the R wave, the upward one.
 */
const searchS = 0.07;
const fineS = 0.02;
/** The line is the median over this time, this far from the first and from the last of the two waves. */
const lineS = 0.06;
const awayS = 0.08;
/** What the lean of the neighbouring beats, so many on either side, adds to a beat's own. */
const neighboursShare = 0.3;
const neighbours = 2;
/** A lean of less than this is chance: beats that are alike are marked alike. */
const little = 0.04;
/** A downward wave has to be greater than the upward one by this much. */
const greater = 0.02;
/**
 * What is chosen on recordings. Steepness weighs more than height, as among band-passed waves no share is far from a half.
 * Of a wide beat with two humps the higher one is its apex, not the steeper one that the band-pass shows.
 */
export type ApexTuning = Pick<NoiseTuning, 'steepWeight' | 'broadWeight' | 'broadS' | 'humpS' | 'clearlyOut'>;

interface Waves {
  readonly x: Float32Array;
  readonly band: Float32Array;
}

export interface Deflections {
  /** Working sample each belongs to, in order. */
  readonly at: Int32Array;
  /** Working sample of the largest upward and of the largest downward deflection. */
  readonly up: Int32Array;
  readonly down: Int32Array;
  /** How much greater the upward one is, above 0, or the downward one, below 0. */
  readonly lean: Float32Array;
}

/**
 * Deflections of the beats around working samples `at`, in order. Those that are among `known`, of the same window, are
 * taken over.
 */
export function deflections(
  lead: Waves,
  n: number,
  at: ArrayLike<number>,
  workingHz: number,
  tuning: ApexTuning,
  known?: Deflections,
): Deflections {
  const count = at.length;
  const up = new Int32Array(count);
  const out = { at: Int32Array.from(at), up, down: new Int32Array(count), lean: new Float32Array(count) };
  for (let k = 0, before = 0; k < count; k++) {
    while (known && before < known.at.length && known.at[before]! < at[k]!) before++;
    if (known && known.at[before] === at[k]) {
      out.up[k] = known.up[before]!;
      out.down[k] = known.down[before]!;
      out.lean[k] = known.lean[before]!;
    } else measure(lead, n, workingHz, tuning, k, out);
  }
  return out;
}

function measure(
  { x, band }: Waves,
  n: number,
  workingHz: number,
  tuning: ApexTuning,
  k: number,
  out: Deflections,
): void {
  const centre = out.at[k]!;
  const reach = Math.round(searchS * workingHz);
  findExtremes(band, Math.max(0, centre - reach), Math.min(n - 1, centre + reach), centre);
  const { high, low } = extremes;
  const hump = Math.round(tuning.humpS * workingHz);
  const lo = Math.max(0, centre - hump);
  const hi = Math.min(n - 1, centre + hump);
  findExtremes(x, lo, hi, lo);
  const clear = tuning.clearlyOut * (x[extremes.high]! - x[extremes.low]!);
  // At an end it is a slope, of the baseline or of another wave.
  const inside = (i: number) => i > lo + 1 && i < hi - 1;
  const up = inside(extremes.high) && x[extremes.high]! - x[high]! > clear ? extremes.high : high;
  const down = inside(extremes.low) && x[low]! - x[extremes.low]! > clear ? extremes.low : low;
  const line = lineAround(x, n, Math.min(up, down), Math.max(up, down), workingHz);
  const height = upShare(x[up]! - line, line - x[down]!);
  out.up[k] = up;
  out.down[k] = down;
  const steep = upShare(band[high]!, -band[low]!);
  const broad = broadShare(band, n, centre, reach, Math.round(tuning.broadS * workingHz));
  out.lean[k] = height - 0.5 + tuning.steepWeight * (steep - 0.5) + tuning.broadWeight * (broad - 0.5);
}

/** What is upward of the greatest means of `band` over `width` samples around `centre`: narrow waves fade in them. */
function broadShare(band: Float32Array, n: number, centre: number, reach: number, width: number): number {
  const from = Math.max(0, centre - reach - (width >> 1));
  const to = Math.min(n, centre + reach + width - (width >> 1));
  let sum = 0;
  for (let i = from; i < Math.min(to, from + width); i++) sum += band[i]!;
  let most = sum;
  let least = sum;
  for (let i = from + width, gone = from; i < to; i++, gone++) {
    sum += band[i]! - band[gone]!;
    if (sum > most) most = sum;
    else if (sum < least) least = sum;
  }
  return upShare(most, -least);
}

/** What an upward deflection is of both, 0 to 1. */
function upShare(up: number, down: number): number {
  const both = Math.max(0, up) + Math.max(0, down);
  return both > 0 ? Math.max(0, up) / both : 0.5;
}

/** Level of the signal between beats: mean of what it is before the first wave and after the last. */
function lineAround(x: Float32Array, n: number, first: number, last: number, workingHz: number): number {
  const away = Math.round(awayS * workingHz);
  const reach = Math.round((lineS / 2) * workingHz);
  const before = medianAround(x, Math.max(0, first - away), reach);
  return 0.5 * (before + medianAround(x, Math.min(n - 1, last + away), reach));
}

/** What `findExtremes` found. */
const extremes = { high: 0, low: 0 };

/** The first highest and the first lowest of `x[lo..hi]`, sample `from` before others that are as high or low. */
function findExtremes(x: Float32Array, lo: number, hi: number, from: number): void {
  let high = from;
  let low = from;
  let most = x[from]!;
  let least = most;
  for (let i = lo; i <= hi; i++) {
    const v = x[i]!;
    if (v > most) {
      most = v;
      high = i;
    } else if (v < least) {
      least = v;
      low = i;
    }
  }
  extremes.high = high;
  extremes.low = low;
}

/** True when beat k is marked on its upward deflection. */
export function pointsUp(lean: Float32Array, k: number): boolean {
  const own = lean[k]!;
  const around = medianAround(lean, k, neighbours);
  return (Math.abs(own) < little ? around : own + neighboursShare * around) > -greater;
}

/**
 * Full-rate sample of the apex near working sample `at`: the extreme of the words within 20 ms, or `at` itself when
 * that extreme is only the edge of a slope.
 */
export function apexAt(words: SampleArray, at: number, factor: number, samplingRateHz: number, up: boolean): number {
  const centre = at * factor + (factor >> 1);
  const reach = Math.max(1, Math.round(fineS * samplingRateHz));
  const lo = Math.max(0, centre - reach);
  const hi = Math.min(words.length - 1, centre + reach);
  let top = lo;
  for (let i = lo + 1; i <= hi; i++) if (up ? words[i]! > words[top]! : words[i]! < words[top]!) top = i;
  if (top === lo || top === hi) return Math.min(words.length - 1, centre);
  let end = top;
  while (end < hi && words[end + 1] === words[top]) end++;
  return (top + end) >> 1;
}
