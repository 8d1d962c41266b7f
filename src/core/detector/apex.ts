import type { SampleArray } from '../recording/recording';

/**
 * Puts a mark on the R apex. Whether beats point up or down is read from the band-passed signal: the share of the
 * upward deflection, as the median over neighbouring beats (their average beat), unless a beat by itself clearly
 * points the other way, as an ectopic one may.
 */
const searchS = 0.07;
const fineS = 0.02;
/** A beat goes against its neighbours only when its own larger deflection is this share of both. */
const ownMind = 0.55;
/**
 * Of a wide beat with two humps the higher one is its apex, not the steeper one that the band-pass shows: the extreme of
 * the signal this near, where it is clearly further out, by this share of the range there.
 */
const humpS = 0.06;
const clearlyOut = 0.1;

export interface Deflections {
  /** Working sample of the largest upward and of the largest downward deflection. */
  readonly up: Int32Array;
  readonly down: Int32Array;
  /** Upward deflection as a share of both, 0 to 1. */
  readonly share: Float32Array;
}

export function deflections(
  { x, band }: { readonly x: Float32Array; readonly band: Float32Array },
  n: number,
  at: ArrayLike<number>,
  workingHz: number,
): Deflections {
  const hump = Math.round(humpS * workingHz);
  const reach = Math.round(searchS * workingHz);
  const up = new Int32Array(at.length);
  const down = new Int32Array(at.length);
  const share = new Float32Array(at.length);
  for (let k = 0; k < at.length; k++) {
    const centre = at[k]!;
    let high = centre;
    let low = centre;
    for (let i = Math.max(0, centre - reach); i <= Math.min(n - 1, centre + reach); i++) {
      if (band[i]! > band[high]!) high = i;
      if (band[i]! < band[low]!) low = i;
    }
    up[k] = furthest(x, n, centre, hump, high, 1);
    down[k] = furthest(x, n, centre, hump, low, -1);
    const total = band[high]! - band[low]!;
    share[k] = total > 0 ? Math.max(0, band[high]!) / total : 0.5;
  }
  return { up, down, share };
}

/** The extreme of the signal near `centre`, up or down by `sign`, when it is clearly further out than sample `own`. */
function furthest(x: Float32Array, n: number, centre: number, reach: number, own: number, sign: number): number {
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
  return sign * (x[out]! - x[own]!) > clearlyOut * sign * (x[out]! - x[back]!) ? out : own;
}

/** True when beat k is marked on its upward deflection, given the usual share of its neighbours. */
export function pointsUp(share: number, usualShare: number): boolean {
  if (usualShare >= 0.5) return share >= 1 - ownMind;
  return share > ownMind;
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
