import type { Detection } from '../../src/core/detector/detect';
import type { BeatCounts } from './beat-counts';
import type { Mixture } from './noise-mixture';

/** What became of one mixture. */
export interface Outcome extends BeatCounts {
  /** The same outside the spans that the detector calls unsure. */
  readonly outside: BeatCounts;
  /** Samples called unsure, of all. */
  unsure: number;
  samples: number;
  /** Stretches of 10 s with a mistake, of all. */
  wrongStretches: number;
  stretches: number;
  /** Marks by the probability that they were given: how many, sum of probabilities, how many are beats. */
  readonly reliability: { marks: number; said: number; right: number }[];
}

/** Lower ends of the classes of probability. */
const reliabilityFrom = [0, 0.2, 0.4, 0.6, 0.8, 0.9, 0.95, 0.99, 0.999];
const windowS = 0.15;
const stretchS = 10;

function nothing(): Outcome {
  return {
    ...{ tp: 0, fn: 0, fp: 0, unsure: 0, samples: 0, wrongStretches: 0, stretches: 0 },
    outside: { tp: 0, fn: 0, fp: 0 },
    reliability: reliabilityFrom.map(() => ({ marks: 0, said: 0, right: 0 })),
  };
}

function isNear(at: number, sorted: Int32Array, reach: number): boolean {
  let lo = 0;
  for (let hi = sorted.length; lo < hi; ) {
    const mid = (lo + hi) >> 1;
    if (sorted[mid]! < at - reach) lo = mid + 1;
    else hi = mid;
  }
  return lo < sorted.length && sorted[lo]! <= at + reach;
}

/** Beats and marks are right when one of the other kind is within 150 ms. */
export function noiseOutcome({ beats, leads, samplingRateHz }: Mixture, found: Detection): Outcome {
  const out = nothing();
  const reach = windowS * samplingRateHz;
  const unsure = (at: number) => found.unsure.some(s => at >= s.start && at < s.end);
  const wrong = new Set<number>();
  const count = (at: number, right: boolean, kind: 'fn' | 'fp') => {
    if (!right) wrong.add(Math.floor(at / (stretchS * samplingRateHz)));
    for (const into of unsure(at) ? [out] : [out, out.outside]) {
      if (!right) into[kind]++;
      else if (kind === 'fn') into.tp++;
    }
  };
  for (const at of beats) count(at, isNear(at, found.samples, reach), 'fn');
  for (const [k, at] of found.samples.entries()) {
    const right = isNear(at, beats, reach);
    count(at, right, 'fp');
    const said = found.probability[k]!;
    const c = out.reliability[reliabilityFrom.findLastIndex(v => said >= v)]!;
    c.marks++;
    c.said += said;
    if (right) c.right++;
  }
  out.samples = leads[0]!.length;
  for (const s of found.unsure) out.unsure += s.end - s.start;
  out.wrongStretches = wrong.size;
  out.stretches = Math.ceil(out.samples / (stretchS * samplingRateHz));
  return out;
}

export function sumOf(all: readonly Outcome[]): Outcome {
  const out = nothing();
  for (const o of all) {
    for (const key of ['tp', 'fn', 'fp', 'unsure', 'samples', 'wrongStretches', 'stretches'] as const)
      out[key] += o[key];
    for (const key of ['tp', 'fn', 'fp'] as const) out.outside[key] += o.outside[key];
    for (const [k, c] of out.reliability.entries()) {
      c.marks += o.reliability[k]!.marks;
      c.said += o.reliability[k]!.said;
      c.right += o.reliability[k]!.right;
    }
  }
  return out;
}
