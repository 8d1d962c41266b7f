import type { SampleArray } from '../recording/recording';
import { medianAround } from './local';
import type { NoiseTuning } from './noise/tuning';

/**
 * Puts a mark on the R apex. A beat with a wave up and a wave down is marked on the one that is greater by two measures
 * together: how steep it is, which the band-passed signal shows, and how far it goes from the line before and after the
 * beat. Each alone errs: a deep narrow S wave is steeper than a broad R wave, and the line may be off by a ST segment.
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
/** A downward wave has to be greater than the upward one by this much. */
const greater = 0.02;
/**
 * What is chosen on recordings. Steepness weighs more than height, as among band-passed waves no share is far from a half.
 * Of a wide beat with two humps the higher one is its apex, not the steeper one that the band-pass shows.
 */
export type ApexTuning = Pick<NoiseTuning, 'steepWeight' | 'humpS' | 'clearlyOut'>;

export interface Deflections {
  /** Working sample of the largest upward and of the largest downward deflection. */
  readonly up: Int32Array;
  readonly down: Int32Array;
  /** How much greater the upward one is, above 0, or the downward one, below 0. */
  readonly lean: Float32Array;
}

export function deflections(
  { x, band }: { readonly x: Float32Array; readonly band: Float32Array },
  n: number,
  at: ArrayLike<number>,
  workingHz: number,
  { steepWeight, humpS, clearlyOut }: ApexTuning,
): Deflections {
  const hump = Math.round(humpS * workingHz);
  const reach = Math.round(searchS * workingHz);
  const up = new Int32Array(at.length);
  const down = new Int32Array(at.length);
  const lean = new Float32Array(at.length);
  for (let k = 0; k < at.length; k++) {
    const centre = at[k]!;
    let high = centre;
    let low = centre;
    for (let i = Math.max(0, centre - reach); i <= Math.min(n - 1, centre + reach); i++) {
      if (band[i]! > band[high]!) high = i;
      if (band[i]! < band[low]!) low = i;
    }
    up[k] = furthest(x, n, centre, hump, high, clearlyOut);
    down[k] = furthest(x, n, centre, hump, low, -clearlyOut);
    const line = lineAround(x, n, Math.min(up[k]!, down[k]!), Math.max(up[k]!, down[k]!), workingHz);
    const height = upShare(x[up[k]!]! - line, line - x[down[k]!]!);
    lean[k] = height - 0.5 + steepWeight * (upShare(band[high]!, -band[low]!) - 0.5);
  }
  return { up, down, lean };
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

/**
 * The extreme of the signal near `centre`, up or down by the sign of `clearly`, when it is further out than sample `own` by
 * that share of the range.
 */
function furthest(x: Float32Array, n: number, centre: number, reach: number, own: number, clearly: number): number {
  const sign = Math.sign(clearly);
  const lo = Math.max(0, centre - reach);
  const hi = Math.min(n - 1, centre + reach);
  let out = lo;
  let back = lo;
  for (let i = lo + 1; i <= hi; i++) {
    const v = sign * x[i]!;
    if (v > sign * x[out]!) out = i;
    if (v < sign * x[back]!) back = i;
  }
  // At an end it is a slope, of the baseline or of another wave.
  if (out <= lo + 1 || out >= hi - 1) return own;
  return sign * (x[out]! - x[own]!) > clearly * (x[out]! - x[back]!) ? out : own;
}

/** True when beat k is marked on its upward deflection. */
export function pointsUp(lean: Float32Array, k: number): boolean {
  return lean[k]! + neighboursShare * medianAround(lean, k, neighbours) > -greater;
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
