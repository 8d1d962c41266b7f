import type { SampleArray } from '../recording/recording';
import { envelopeS, envelopeWidths } from './envelope';
import type { NoiseTuning } from './noise/tuning';
import { medianAround } from './selection';

/**
 * Puts a mark on the R apex. A beat with a wave up and a wave down is marked on the greater of the two, and how wide the
 * beat is says by what. A narrow one by what is left of each wave among broad ones, after a mean of the band-passed signal
 * over a third of a QRS complex: there a narrow deep S wave fades beside a broader R wave. In that mean a wide beat is little
 * more than its slopes, so that it is marked by how steep its waves are and how far they go from the line before and after it.
 * Where neither wave is greater the beats around it decide, and between two alike it is the R wave, the upward one.
 */
const searchS = 0.07;
const fineS = 0.02;
/** The line is the median over this time, this far from the first and from the last of the two waves. */
const lineS = 0.06;
const awayS = 0.08;
/** A lean of less than this is chance: so many beats on either side decide, so that beats that are alike are marked alike. */
const little = 0.003;
const neighbours = 2;
/** Of those the downward waves have to be greater by this much. */
const greater = 0.001;
/**
 * What is chosen on recordings. Steepness weighs more than height, as among band-passed waves no share is far from a half.
 * Of a wide beat with two humps the higher one is its apex, not the steeper one that the band-pass shows.
 */
export type ApexTuning = Pick<NoiseTuning, 'steepWeight' | 'broadS' | 'wideBelow' | 'humpS' | 'clearlyOut'>;

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
  /** How much greater the upward one is, above 0, or the downward one, below 0: its share of both less a half. */
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
  const range = x[extremes.high]! - x[extremes.low]!;
  const clear = tuning.clearlyOut * range;
  // At an end it is a slope, of the baseline or of another wave.
  const inside = (i: number) => i > lo + 1 && i < hi - 1;
  const up = inside(extremes.high) && x[extremes.high]! - x[high]! > clear ? extremes.high : high;
  const down = inside(extremes.low) && x[low]! - x[extremes.low]! > clear ? extremes.low : low;
  out.up[k] = up;
  out.down[k] = down;
  const steep = upShare(band[high]!, -band[low]!);
  if (band[high]! - band[low]! >= tuning.wideBelow * range) {
    out.lean[k] = broadShare(band, n, centre, reach, broadWidth(workingHz, tuning.broadS)) - 0.5;
    return;
  }
  const line = lineAround(x, n, Math.min(up, down), Math.max(up, down), workingHz);
  const height = upShare(x[up]! - line, line - x[down]!);
  out.lean[k] = (height + tuning.steepWeight * steep) / (1 + tuning.steepWeight) - 0.5;
}

/**
 * Samples of the mean that leaves broad waves. At low frequencies the smoothing, the three boxes and this mean let through
 * 1 - (smooth^2 + 3 box^2 + width^2) w^2 / 24 of what a second difference does: where the former come out wider for want
 * of samples this one is narrower, so that it is about the same band at all rates.
 */
function broadWidth(workingHz: number, seconds: number): number {
  const { smooth, box } = envelopeWidths(workingHz);
  const all = (seconds * workingHz) ** 2 + 4 * (envelopeS * workingHz) ** 2;
  return Math.max(1, Math.round(Math.sqrt(Math.max(1, all - smooth ** 2 - 3 * box ** 2))));
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
  return Math.abs(own) < little ? leanAround(lean, k) > -greater : own > 0;
}

/**
 * Mean lean of the beats next to beat k and of those after them, each counting up to `little`. Its own is not among them:
 * where every second beat leans the other way, each would have a majority of its kind.
 */
function leanAround(lean: Float32Array, k: number): number {
  let sum = 0;
  for (let away = 1; away <= neighbours; away++) {
    const before = lean[k - away] ?? lean[k + away] ?? 0;
    const after = lean[k + away] ?? before;
    sum += within(before) + within(after);
  }
  return sum / (2 * neighbours);
}

const within = (lean: number) => Math.max(-little, Math.min(little, lean));

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
