import { apexAt, deflections } from '../../src/core/detector/apex';
import { envelopeWidths, fillEnvelope } from '../../src/core/detector/envelope';
import { type NoiseTuning, noiseTuning } from '../../src/core/detector/noise/tuning';
import type { OpenRecording } from './open-recordings';

/** The envelope's maximum is this near a mark, s. */
const middleS = 0.1;
/** Loss of a beat of which neither wave is where the expert's mark is: as of one that happens once in a hundred. */
const neither = Math.log(100);

/** How far beats lean to the wave that the expert marked, above 0, or to the other one, below 0. */
export interface Leans {
  readonly leans: number[];
  /** Beats of which neither wave is near the expert's mark. */
  neither: number;
}

/** Adds the beats whose marks are `found`; `expert` and `near` are where the expert has each and how near is right, samples. */
export function addLeans(
  { words, samplingRateHz: hz }: OpenRecording,
  found: ArrayLike<number>,
  expert: ArrayLike<number>,
  near: ArrayLike<number>,
  noise: Partial<NoiseTuning>,
  into: Leans,
): void {
  // At the rate of the open recordings the detector takes each word by itself.
  const x = Float32Array.from(words);
  const [smooth, band, energy] = [new Float32Array(x.length), new Float32Array(x.length), new Float32Array(x.length)];
  fillEnvelope(x, x.length, envelopeWidths(hz), smooth, band, energy);
  const middles = Array.from(found, at => highest(energy, at, Math.round(middleS * hz)));
  const { up, down, lean } = deflections({ x, band }, x.length, middles, hz, { ...noiseTuning, ...noise });
  for (let k = 0; k < middles.length; k++) {
    const isNear = (wave: number, upward: boolean) =>
      Math.abs(apexAt(words, wave, 1, hz, upward) - expert[k]!) <= near[k]!;
    const [onUp, onDown] = [isNear(up[k]!, true), isNear(down[k]!, false)];
    if (onUp !== onDown) into.leans.push(onUp ? lean[k]! : -lean[k]!);
    else if (!onUp) into.neither++;
  }
}

/**
 * Less is better: minus the log-likelihood of the experts' choices where a lean is the log-odds of the upward wave, times
 * the factor that suits it best. Unlike a count of mistakes it says something of every beat.
 */
export function lossOf({ leans, neither: count }: Leans): number {
  const of = (log: number) => leans.reduce((sum, v) => sum + softplus(-Math.exp(log) * v), 0);
  let [lo, hi] = [-2, 12];
  // The loss has one minimum in the factor, and so in its logarithm.
  for (let round = 0; round < 40; round++) {
    const [a, b] = [lo + (hi - lo) / 3, hi - (hi - lo) / 3];
    if (of(a) < of(b)) hi = b;
    else lo = a;
  }
  return of(lo) + neither * count;
}

const softplus = (v: number) => (v > 30 ? v : Math.log1p(Math.exp(v)));

function highest(energy: Float32Array, at: number, reach: number): number {
  let best = at;
  for (let i = Math.max(0, at - reach); i <= Math.min(energy.length - 1, at + reach); i++)
    if (energy[i]! > energy[best]!) best = i;
  return best;
}
