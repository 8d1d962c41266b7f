import { mean } from '../score/moments';
import type { PowerSpectrum } from './welch';

const pieceSeconds = 300;
const oversampling = 2;

/**
 * Lomb-Scargle periodogram of unevenly sampled values (Scargle, Astrophys J 1982;263:835), less their mean, scaled to a
 * one-sided density so that a sine of amplitude A carries A^2 / 2. Frequencies from 1/length to `maxHz`, two to each
 * resolution width. Series of ten minutes and more are cut into equal pieces of five minutes or somewhat more, and averaged.
 */
export function lombScargle(timesSeconds: Float64Array, values: Float64Array, maxHz = 0.4): PowerSpectrum {
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
  let used = 0;
  for (let p = 0, i = 0; p < pieces; p++) {
    const from = i;
    while (i < timesSeconds.length && (p === pieces - 1 || timesSeconds[i]! < first + (p + 1) * length)) i++;
    if (i - from < 10 && pieces > 1) continue;
    addPeriodogram(timesSeconds.subarray(from, i), values.subarray(from, i), length, frequenciesHz, density);
    used++;
  }
  for (let k = 0; k < density.length; k++) density[k]! /= Math.max(1, used);
  return { frequenciesHz, density };
}

function addPeriodogram(
  times: Float64Array,
  values: Float64Array,
  length: number,
  frequenciesHz: Float64Array,
  density: Float64Array,
): void {
  const centre = mean(values);
  const y = values.map(v => v - centre);
  const scale = (2 * length) / times.length;
  const turn = 2 * Math.PI * (frequenciesHz[1]! - frequenciesHz[0]!);
  const first = 2 * Math.PI * frequenciesHz[0]!;
  // cos and sin of each sample's angle, turned on from one frequency to the next: two multiplications instead of a call
  const cos = times.map(t => Math.cos(first * (t - times[0]!)));
  const sin = times.map(t => Math.sin(first * (t - times[0]!)));
  const turnCos = times.map(t => Math.cos(turn * (t - times[0]!)));
  const turnSin = times.map(t => Math.sin(turn * (t - times[0]!)));
  // Two frequencies a pass: each sample's angle is fetched and put back once for both.
  for (let k = 0; k < frequenciesHz.length; k += 2) {
    let yc = 0;
    let ys = 0;
    let cc = 0;
    let cs = 0;
    let nextYc = 0;
    let nextYs = 0;
    let nextCc = 0;
    let nextCs = 0;
    for (let i = 0; i < y.length; i++) {
      const v = y[i]!;
      const c = cos[i]!;
      const s = sin[i]!;
      const tc = turnCos[i]!;
      const ts = turnSin[i]!;
      yc += v * c;
      ys += v * s;
      cc += c * c;
      cs += c * s;
      const nextC = c * tc - s * ts;
      const nextS = s * tc + c * ts;
      nextYc += v * nextC;
      nextYs += v * nextS;
      nextCc += nextC * nextC;
      nextCs += nextC * nextS;
      cos[i] = nextC * tc - nextS * ts;
      sin[i] = nextS * tc + nextC * ts;
    }
    density[k]! += scale * scargle(yc, ys, cc, cs, y.length);
    if (k + 1 < density.length) density[k + 1]! += scale * scargle(nextYc, nextYs, nextCc, nextCs, y.length);
  }
}

/** Scargle's P at one frequency, from plain sums over cos and sin; the shift tau is applied to the sums. */
function scargle(yc: number, ys: number, cc: number, cs: number, n: number): number {
  const ss = n - cc;
  const tau = 0.5 * Math.atan2(2 * cs, cc - ss);
  const cosTau = Math.cos(tau);
  const sinTau = Math.sin(tau);
  const cross = 2 * cosTau * sinTau * cs;
  const cosPart = (cosTau * yc + sinTau * ys) ** 2 / (cosTau ** 2 * cc + cross + sinTau ** 2 * ss);
  const sinPart = (cosTau * ys - sinTau * yc) ** 2 / (cosTau ** 2 * ss - cross + sinTau ** 2 * cc);
  return 0.5 * (cosPart + sinPart);
}
