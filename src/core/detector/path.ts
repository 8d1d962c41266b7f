import type { Candidates } from './candidates';
import { beatProbabilities, bestSequence, type Chain, tempered } from './chain';
import type { LocalRhythm } from './local';

/**
 * Chooses which candidates are beats: the sequence with the highest sum of evidence (log-odds of each candidate by
 * itself) minus what its intervals cost. One dynamic program does the work of refractory period, search-back in long
 * intervals and T-wave rejection, and weighs them together instead of one after the other.
 * Source: refractory rule, search-back and T-wave rejection, Pan & Tompkins, IEEE TBME 1985;32:230.
 */
export interface PathInput {
  readonly candidates: Candidates;
  /** Log-odds of being a beat, per candidate. */
  readonly evidence: Float32Array;
  readonly rhythm: LocalRhythm;
  /** Working samples per cell of `rhythm`. */
  readonly cell: number;
  readonly workingHz: number;
}

/** Two beats are never closer: ventricles are refractory for 200 ms and more (Pan & Tompkins). */
const refractoryS = 0.2;
/** Within this time of a beat a weaker wave is taken for its T wave, or for the P wave of the next (Pan & Tompkins). */
const repolarisationS = 0.36;
/**
 * Share of the stronger wave's energy below which the weaker of two is taken for that: at the refractory time, and at
 * the end of repolarisation. A beat that comes early is as sharp as others, and T waves lose as they come later.
 */
const earlyShare = 0.9;
const lateShare = 0.3;
/** Cost per factor e below that share, and the most. */
const weakSlope = 8;
const mostWeak = 4;
/** What two beats within the repolarisation time cost in any case, as a share of the weight of the rhythm. */
const closeCost = 0.3;
/** How much an interval out of line costs at most, in a steady rhythm and at least. */
const steadyWeight = 2;
const leastWeight = 0.7;
/** Quartile deviation, as a share of the RR interval, at which the rhythm counts as half as steady. */
const unsteady = 0.08;
const mostCost = 1.5;
/** What an interval of more than the repolarisation time costs at most. */
const mostLost = steadyWeight * mostCost;
/** Longer intervals all cost the same: a pause is a pause. */
const reachS = 3.5;

/** Marks the chosen candidates with 1 in `chosen`. */
export function bestPath(input: PathInput, chosen: Uint8Array): void {
  const able = possible(input);
  const onPath = new Uint8Array(able.length);
  bestSequence(chainOf(input, able), onPath);
  chosen.fill(0);
  for (let j = 0; j < able.length; j++) chosen[able[j]!] = onPath[j]!;
}

/**
 * Probability of each candidate to be a beat; 0 for those that cannot lie on the best path. The bounds of the evidence
 * make it weak where all is clear: as odds of a probability it counts `sharpness` times.
 */
export function pathProbabilities(input: PathInput, sharpness: number, probability: Float32Array): void {
  const able = possible(input);
  const ofAble = new Float32Array(able.length);
  beatProbabilities(tempered(chainOf(input, able), sharpness), ofAble);
  probability.fill(0);
  for (let j = 0; j < able.length; j++) probability[able[j]!] = ofAble[j]!;
}

function chainOf(input: PathInput, able: Int32Array): Chain {
  const at = new Int32Array(able.length);
  const evidence = new Float32Array(able.length);
  for (let j = 0; j < able.length; j++) {
    at[j] = input.candidates.at[able[j]!]!;
    evidence[j] = input.evidence[able[j]!]!;
  }
  return {
    at,
    count: able.length,
    evidence,
    join: (i, j) => -intervalCost(input, able[i]!, able[j]!),
    reach: reachS * input.workingHz,
    lost: -mostLost,
  };
}

/**
 * The candidates that can lie on the best path, in order. One whose evidence is below minus the most that an interval
 * costs cannot: its neighbours on the path are 400 ms apart or more, so leaving it out costs less than it does.
 */
function possible({ candidates, evidence }: PathInput): Int32Array {
  const out = new Int32Array(candidates.count);
  let n = 0;
  for (let j = 0; j < candidates.count; j++) if (evidence[j]! >= -mostLost) out[n++] = j;
  return out.subarray(0, n);
}

/** What it costs that candidates i and j are neighbouring beats. */
function intervalCost(input: PathInput, i: number, j: number): number {
  const { at, energy } = input.candidates;
  const rr = at[j]! - at[i]!;
  if (rr < refractoryS * input.workingHz) return Number.POSITIVE_INFINITY;
  const g = Math.min(input.rhythm.rr.length - 1, Math.floor(at[j]! / input.cell));
  const expected = input.rhythm.rr[g]!;
  const seconds = rr / input.workingHz;
  const close = seconds < repolarisationS;
  const ratio = expected > 0 ? rr / expected : 1;
  if (!close && ratio >= 0.8 && ratio <= 1.3) return 0;
  const steadiness = input.rhythm.spread[g]! / unsteady;
  const weight = expected > 0 ? Math.max(leastWeight, steadyWeight / (1 + steadiness * steadiness)) : steadyWeight;
  const outOfLine = Math.max(0, (0.8 - ratio) * 3, (ratio - 1.3) * 1.5);
  const cost = weight * Math.min(mostCost, outOfLine);
  return close ? cost + closeCost * weight + weakCost(seconds, energy[i]!, energy[j]!) : cost;
}

/** What it costs to take both of two waves for beats that are so few seconds apart, given their energies. */
function weakCost(seconds: number, a: number, b: number): number {
  const late = (seconds - refractoryS) / (repolarisationS - refractoryS);
  const least = earlyShare + (lateShare - earlyShare) * late;
  const share = Math.min(a, b) / Math.max(a, b);
  return share < least ? Math.min(mostWeak, weakSlope * Math.log(least / share)) : 0;
}
