import { beatProbabilities, bestSequence, type Chain, tempered } from '../chain';
import type { Families, Family } from './families';
import { longestS, type RhythmDensity, rhythmDensity, type TimedInterval } from './rhythm-density';
import { aroundSteps, blockSteps, fillShapeEvidence, type ShapeEvidence } from './shape-evidence';
import type { NoiseTuning } from './tuning';

/** Beats within a stretch of noise, by their shapes and rhythm, between the beats that can be read on either side. */
export interface RegionInput {
  readonly fine: readonly Float32Array[];
  /** Scratch of the size of `fine`. */
  readonly residual: readonly Float32Array[];
  readonly evidence: ShapeEvidence;
  readonly count: number;
  readonly families: Families;
  readonly stepS: number;
  /** Bins of the rhythm's density by fine steps. */
  readonly bins: Int16Array;
  /** Fine steps [from, to) of the stretch. */
  readonly from: number;
  readonly to: number;
  /** First guess of the beats in the whole window, in fine steps. */
  readonly guess: readonly number[];
  /** Log-odds of each guessed beat to be one whatever its shape. */
  readonly standing: readonly number[];
  /** Readable intervals near by, in fine steps. */
  readonly intervals: readonly TimedInterval[];
  readonly tuning: NoiseTuning;
}

export interface RegionBeats {
  /** Candidates in order: fine step, number of the family among `families.known`, probability, and whether chosen. */
  readonly at: Int32Array;
  readonly family: Uint8Array;
  readonly probability: Float32Array;
  readonly chosen: Uint8Array;
  /** The guessed beat that a candidate is when no shape speaks for it as much; -1 for others. */
  readonly guess: Int32Array;
}

/** Candidates are at least this far apart. */
const apartS = 0.05;
/** Candidates of less evidence are left out. */
const leastOdds = -6;
/** Rhythm further away than this counts little, s. */
const rhythmMemoryS = 40;
/** What an interval costs that is longer than any the density knows. */
const mostLost = 6;
const certain = 1000;
const rounds = 3;
/** A guessed beat is taken off the noise when it is this much like a family. */
const somewhatAlike = 0.4;
/** Two middles nearer than this are of one beat. */
const sameS = 0.05;
/** Both beats of an interval are this sure for it to teach the rhythm. */
const sure = 0.8;

/** Finds the beats; the noise is what is left without the beats found in the round before, at first the guessed ones. */
export function solveRegion(input: RegionInput): RegionBeats {
  const { from, to, fine, residual, count, families, evidence, guess, stepS } = input;
  const known = families.known;
  const lo = Math.max(0, from - aroundSteps);
  const hi = Math.min(count, to + aroundSteps);
  let found: RegionBeats | null = null;
  for (let round = 0; round < rounds; round++) {
    for (const [lead, x] of fine.entries()) residual[lead]!.set(x.subarray(lo, hi), lo);
    takeOffGuess(input, known, lo, hi, found !== null);
    if (found) takeOff(input, known, found);
    const given = { fine, residual, count, families: known, halfSteps: families.halfSteps, tuning: input.tuning };
    for (let at = from; at < to; at += blockSteps)
      fillShapeEvidence(given, at, Math.min(to, at + blockSteps), evidence);
    const again = choose(input, found, standOut(input));
    const settled = same(
      found ? beatsOf(found) : guess.filter(at => at >= from && at < to),
      beatsOf(again),
      sameS / stepS,
    );
    found = again;
    if (settled) break;
  }
  return found!;
}

/** Gives guessed beats their own evidence where that of shapes near by is less; their numbers by fine step. */
function standOut({ guess, standing, from, to, evidence: { odds }, stepS }: RegionInput): Map<number, number> {
  const near = Math.round(sameS / stepS);
  const out = new Map<number, number>();
  for (const [k, at] of guess.entries()) {
    if (at < from || at >= to) continue;
    let most = Number.NEGATIVE_INFINITY;
    for (let i = Math.max(from, at - near); i <= Math.min(to - 1, at + near); i++) most = Math.max(most, odds[i]!);
    if (!(standing[k]! > most)) continue;
    odds[at] = standing[k]!;
    out.set(at, k);
  }
  return out;
}

const beatsOf = ({ at, chosen }: RegionBeats) => at.filter((_, i) => chosen[i]);

/** Whether two lists hold the same beats, so that the noise is known as well as it can be. */
function same(a: ArrayLike<number>, b: ArrayLike<number>, near: number): boolean {
  if (a.length !== b.length) return false;
  for (let k = 0; k < a.length; k++) if (Math.abs(a[k]! - b[k]!) > near) return false;
  return true;
}

/** Takes the guessed beats off the residual, each as the family it is most like; in the stretch only when not found. */
function takeOffGuess(input: RegionInput, known: readonly Family[], lo: number, hi: number, outside: boolean): void {
  const { guess, from, to, families, fine } = input;
  for (const at of guess) {
    if (at < lo || at >= hi || (outside && at >= from && at < to)) continue;
    const fit = families.bestFit(fine, input.count, at);
    if (fit && fit.alike > somewhatAlike && known.includes(fit.family)) subtract(input, fit.family, at + fit.lag);
  }
}

function takeOff(input: RegionInput, known: readonly Family[], found: RegionBeats): void {
  for (let i = 0; i < found.at.length; i++)
    if (found.chosen[i] && found.guess[i]! < 0) subtract(input, known[found.family[i]!]!, found.at[i]!);
}

function subtract({ residual, families, count }: RegionInput, family: Family, at: number): void {
  const start = at - families.halfSteps;
  for (const [lead, x] of residual.entries()) {
    const shape = family.shape[lead]!;
    const end = Math.min(shape.length, count - start);
    for (let k = Math.max(0, -start); k < end; k++) x[start + k]! -= shape[k]!;
  }
}

/** The best sequence of candidates; the beats next to the stretch on either side are certain. */
function choose(input: RegionInput, found: RegionBeats | null, own: ReadonlyMap<number, number>): RegionBeats {
  const { from, to, guess, evidence, stepS, bins } = input;
  const before = guess.findLast(at => at < from);
  const after = guess.find(at => at >= to);
  const inside = candidates(input);
  const densityOf = densities(input, found);
  const at = [...(before === undefined ? [] : [before]), ...inside, ...(after === undefined ? [] : [after])];
  const skip = before === undefined ? 0 : 1;
  const odds = new Float32Array(at.length).fill(certain);
  for (let i = 0; i < inside.length; i++)
    odds[i + skip] = evidence.odds[inside[i]!]! + densityOf(inside[i]!).logPeak + Math.log(input.tuning.standsForS);
  const chain: Chain = {
    at,
    count: at.length,
    evidence: odds,
    reach: Math.floor(longestS / stepS) - 1,
    lost: -mostLost,
    join(i, j) {
      const bin = bins[at[j]! - at[i]!]!;
      return bin < 0 ? Number.NEGATIVE_INFINITY : densityOf(at[j]!).log[bin]!;
    },
  };
  const chosen = new Uint8Array(at.length);
  const probability = new Float32Array(at.length);
  bestSequence(chain, chosen);
  beatProbabilities(tempered(chain, input.tuning.noiseSharpness), probability);
  return {
    at: Int32Array.from(inside),
    family: Uint8Array.from(inside, i => evidence.family[i]!),
    probability: probability.slice(skip, skip + inside.length),
    chosen: chosen.slice(skip, skip + inside.length),
    guess: Int32Array.from(inside, i => own.get(i) ?? -1),
  };
}

/** Maxima of the evidence. */
function candidates({ evidence, from, to, count, stepS }: RegionInput): number[] {
  const { odds } = evidence;
  const apart = Math.round(apartS / stepS);
  const out: number[] = [];
  for (let i = Math.max(1, from); i < Math.min(to, count - 1); i++) {
    const v = odds[i]!;
    if (v < leastOdds || (i > from && v < odds[i - 1]!) || (i + 1 < to && v <= odds[i + 1]!)) continue;
    if (out.length > 0 && i - out.at(-1)! < apart) {
      if (v > odds[out.at(-1)!]!) out[out.length - 1] = i;
    } else out.push(i);
  }
  return out;
}

/** Density of the rhythm around each place: of the readable beats, and of those found with near certainty. */
function densities({ from, to, intervals, stepS, tuning }: RegionInput, found: RegionBeats | null) {
  const taught = found ? [...intervals, ...confident(found, stepS)] : intervals;
  const each: RhythmDensity[] = [];
  for (let b = from; b < to; b += blockSteps)
    each.push(rhythmDensity(taught, Math.min(to, b + blockSteps / 2), rhythmMemoryS / stepS, tuning.newInterval));
  return (at: number) => each[Math.max(0, Math.min(each.length - 1, Math.floor((at - from) / blockSteps)))]!;
}

/** Intervals between neighbouring beats of which both are nearly certain. */
function confident(found: RegionBeats, stepS: number): TimedInterval[] {
  const out: TimedInterval[] = [];
  let last = -1;
  for (let i = 0; i < found.at.length; i++) {
    if (!found.chosen[i]) continue;
    const known = found.probability[i]! > sure;
    if (known && last >= 0) out.push({ at: found.at[i]!, rr: (found.at[i]! - found.at[last]!) * stepS });
    last = known ? i : -1;
  }
  return out;
}
