import { mean } from '../moments';
import { type UnevenFourier, unevenFourier } from './fourier';
import type { PowerSpectrum } from './welch';

/** A stretch without data, in s on the series' clock. */
export interface SecondsSpan {
  readonly start: number;
  readonly end: number;
}

const pieceSeconds = 300;
const oversampling = 2;

/**
 * Lomb-Scargle periodogram of unevenly sampled values (Scargle, Astrophys J 1982;263:835), less their mean, scaled to a
 * one-sided density so that a sine of amplitude A carries A^2 / 2: by the time covered, since `gaps` in the middle spread
 * a peak without adding to its power. Frequencies from 1/length to `maxHz`, two to each resolution width. Series of ten
 * minutes and more are cut into equal pieces of five minutes or somewhat more, and averaged; of those, pieces less than
 * half covered are left out.
 */
export function lombScargle(
  timesSeconds: Float64Array,
  values: Float64Array,
  gaps: readonly SecondsSpan[] = [],
  maxHz = 0.4,
): PowerSpectrum {
  const first = timesSeconds[0]!;
  const span = timesSeconds.at(-1)! - first;
  if (timesSeconds.length < 3 || !(span > 0)) throw new RangeError('a periodogram needs three values');
  const pieces = Math.max(1, Math.floor(span / pieceSeconds));
  const length = span / pieces;
  const step = 1 / (length * oversampling);
  const frequenciesHz = Float64Array.from(
    { length: Math.max(0, Math.floor(maxHz / step + 1e-9) - oversampling + 1) },
    (_, k) => (k + oversampling) * step,
  );
  const density = new Float64Array(frequenciesHz.length);
  const fourier = unevenFourier(2 * (frequenciesHz.length + oversampling));
  let used = 0;
  for (let p = 0, i = 0; p < pieces; p++) {
    const from = i;
    while (i < timesSeconds.length && (p === pieces - 1 || timesSeconds[i]! < first + (p + 1) * length)) i++;
    const covered = length - secondsWithin(gaps, first + p * length, first + (p + 1) * length);
    if (pieces > 1 && (i - from < 10 || covered < length / 2)) continue;
    const piece = { times: timesSeconds.subarray(from, i), values: values.subarray(from, i), length, covered };
    addPeriodogram(piece, fourier, density);
    used++;
  }
  for (let k = 0; k < density.length; k++) density[k]! /= Math.max(1, used);
  return { frequenciesHz, density };
}

function secondsWithin(gaps: readonly SecondsSpan[], start: number, end: number): number {
  let sum = 0;
  for (const gap of gaps) sum += Math.max(0, Math.min(end, gap.end) - Math.max(start, gap.start));
  return sum;
}

interface Piece {
  readonly times: Float64Array;
  readonly values: Float64Array;
  /** In s, all of it and without gaps. */
  readonly length: number;
  readonly covered: number;
}

/** The `k`-th frequency is `k + oversampling` steps. */
function addPeriodogram(
  { times, values, length, covered }: Piece,
  fourier: UnevenFourier,
  density: Float64Array,
): void {
  const n = values.length;
  const centre = mean(values);
  const y = new Float64Array(n);
  const scale = (2 * covered) / n;
  const turn = (2 * Math.PI) / (length * oversampling);
  const angles = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    y[i] = values[i]! - centre;
    angles[i] = turn * (times[i]! - times[0]!);
  }
  // Values in the real part, ones in the imaginary part: one transform gives the sums over both.
  const z = fourier.sums(angles, y, new Float64Array(n).fill(1));
  for (let k = 0; k < density.length; k++) {
    const m = k + oversampling;
    const at = 2 * fourier.place(m);
    const mirrored = 2 * fourier.place(-m);
    const twice = 2 * fourier.place(2 * m);
    const twiceMirrored = 2 * fourier.place(-2 * m);
    const yc = (z[at]! + z[mirrored]!) / 2;
    const ys = (z[mirrored + 1]! - z[at + 1]!) / 2;
    // Squares and products of cos and sin are cos and sin of twice the angle.
    const cc = (n + (z[twice + 1]! + z[twiceMirrored + 1]!) / 2) / 2;
    const cs = (z[twice]! - z[twiceMirrored]!) / 4;
    density[k]! += scale * scargle(yc, ys, cc, cs, n);
  }
}

/** Scargle's P at one frequency, from plain sums over cos and sin; the shift tau is applied to the sums. */
function scargle(yc: number, ys: number, cc: number, cs: number, n: number): number {
  const ss = n - cc;
  const { cosTau, sinTau } = halfAngle(cc - ss, 2 * cs);
  const cross = 2 * cosTau * sinTau * cs;
  const alongCos = cosTau * yc + sinTau * ys;
  const alongSin = cosTau * ys - sinTau * yc;
  const [c, s] = [cosTau * cosTau, sinTau * sinTau];
  return 0.5 * ((alongCos * alongCos) / (c * cc + cross + s * ss) + (alongSin * alongSin) / (c * ss - cross + s * cc));
}

/** Cosine and sine of half the angle of (x, y), by square roots: hundreds of arctangents are dear. */
function halfAngle(x: number, y: number): { cosTau: number; sinTau: number } {
  const size = Math.sqrt(x * x + y * y);
  if (size === 0) return { cosTau: 1, sinTau: 0 };
  // The larger of the two is taken from the root, so that no digits are lost.
  if (x >= 0) {
    const cosTau = Math.sqrt((1 + x / size) / 2);
    return { cosTau, sinTau: y / size / (2 * cosTau) };
  }
  const sinTau = (y < 0 ? -1 : 1) * Math.sqrt((1 - x / size) / 2);
  return { cosTau: y / size / (2 * sinTau), sinTau };
}
