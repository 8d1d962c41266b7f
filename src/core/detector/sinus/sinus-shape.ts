import type { BeatFamily, FoundFamilies } from './beat-families';
import { type BeatWaves, levelWaves, middleOf } from './beat-waves';
import { medianAt } from './local-median';

/** How unlike each beat is the beats that look like sinus beats around it. */
export interface SinusShape {
  /** Index of the family that stands for sinus beats. */
  readonly reference: number;
  /** 1 for a family that looks like the reference. */
  readonly like: Uint8Array;
  /** 1 for a beat of such a family. */
  readonly sinusLike: Uint8Array;
  /** Beats of them, by index. */
  readonly sinusBeats: Int32Array;
  /** Steps from each mark to where its QRS complex fits the reference best. */
  readonly lag: Int8Array;
  /** 1 less the similarity (2ab / (a2 + b2)) to the average of the sinus-like beats around: 0 alike, 1 unrelated, 2 upside down. */
  readonly unlike: Float32Array;
  /** The same as a multiple of what noise and the variety of the sinus-like beats around (their upper quarter) make of it. */
  readonly times: Float32Array;
  /** That of the lead in which it is least, among those without much noise; infinite where there is none. */
  readonly leastTimes: Float32Array;
}

/** A family with at least this share of the beats can stand for sinus beats. */
const leastShare = 0.05;
/** It does so in place of the most frequent one when it is so much narrower: paced and ventricular rhythms are wide. */
const muchNarrower = 0.6;
const sameShape = 0.9;
const mostWider = { ratio: 1.35, ms: 8 };
const qrsHalfS = 0.1;
/** Noise is measured here, before the QRS complex. */
const quietS = [-0.26, -0.12] as const;
const lagS = 0.048;
const aroundBeats = 12;
const usualBeats = 25;

export function sinusShape(waves: BeatWaves, found: FoundFamilies): SinusShape {
  const reference = referenceFamily(found.families, waves.count);
  const qrs = Math.round(qrsHalfS * waves.stepsPerSecond);
  const most = Math.round(lagS * waves.stepsPerSecond);
  const of = found.families[reference];
  const like = Uint8Array.from(found.families, f => (of && looksLike(f, of, { qrs, most }) ? 1 : 0));
  const sinusLike = Uint8Array.from(found.of, f => (f >= 0 ? like[f]! : 0));
  const sinusBeats = Int32Array.from(indicesOf(sinusLike));
  const middle = of ? of.shape.map(s => s.subarray(found.halfSteps - qrs, found.halfSteps + qrs + 1)) : [];
  const lag = bestLags(waves, waves.leads, middle, most);
  const ownLags =
    waves.leads.length === 1
      ? [lag]
      : waves.leads.map((lead, i) => bestLags(waves, [lead], middle.slice(i, i + 1), most));
  const shape = { reference, like, sinusLike, sinusBeats, lag };
  return { ...shape, ...dissimilarity(levelWaves(waves), shape, ownLags, qrs) };
}

function referenceFamily(families: readonly BeatFamily[], beats: number): number {
  let frequent = 0;
  for (const [i, f] of families.entries()) if (f.beats > families[frequent]!.beats) frequent = i;
  let narrow = frequent;
  for (const [i, f] of families.entries())
    if (f.beats >= leastShare * beats && f.widthMs < families[narrow]!.widthMs) narrow = i;
  const isMuchNarrower = (families[narrow]?.widthMs ?? 0) < muchNarrower * (families[frequent]?.widthMs ?? 0);
  return isMuchNarrower ? narrow : frequent;
}

function looksLike(f: BeatFamily, of: BeatFamily, { qrs, most }: { qrs: number; most: number }): boolean {
  if (f === of) return true;
  if (f.widthMs > mostWider.ratio * of.widthMs + mostWider.ms) return false;
  const middle = f.shape[0]!.length >> 1;
  for (let lag = -most; lag <= most; lag++) {
    let ab = 0;
    let aa = 0;
    let bb = 0;
    for (const [lead, shape] of f.shape.entries())
      for (let k = -qrs; k <= qrs; k++) {
        const a = shape[middle + k + lag] ?? 0;
        const b = of.shape[lead]![middle + k] ?? 0;
        ab += a * b;
        aa += a * a;
        bb += b * b;
      }
    if (ab > sameShape * Math.sqrt(aa * bb)) return true;
  }
  return false;
}

/** Of each beat, the steps to where these leads fit the shapes best. */
function bestLags(
  waves: BeatWaves,
  leads: readonly Float32Array[],
  shapes: readonly Float32Array[],
  most: number,
): Int8Array {
  const half = (shapes[0]?.length ?? 0) >> 1;
  return new Int8Array(waves.count).map((_, k) =>
    waves.whole[k] ? bestLag(leads, middleOf(waves, k) - half, shapes, most) : 0,
  );
}

function bestLag(leads: readonly Float32Array[], at: number, shapes: readonly Float32Array[], most: number): number {
  let best = 0;
  let highest = Number.NEGATIVE_INFINITY;
  for (let lag = -most; lag <= most; lag++) {
    let product = 0;
    let power = 0;
    for (const [lead, shape] of shapes.entries())
      for (let k = 0, i = at + lag; k < shape.length; k++, i++) {
        const v = leads[lead]![i]!;
        product += v * shape[k]!;
        power += v * v + shape[k]! * shape[k]!;
      }
    if (product > highest * power) {
      highest = product / power;
      best = lag;
    }
  }
  return best;
}

/** So unlike are two beats of a kind by rounding alone. */
const leastVariety = 0.02;
/** In a lead that noise makes this unlike, nothing is said by that lead alone. */
const mostNoise = 0.1;

type Aligned = Pick<SinusShape, 'sinusLike' | 'sinusBeats' | 'lag'>;

/** `ownLags`: of each lead by itself, as a beat of another shape in one lead may fit elsewhere in all together. */
function dissimilarity(waves: BeatWaves, aligned: Aligned, ownLags: readonly Int8Array[], qrs: number) {
  const ofLead = (values: Float32Array, lead: number) =>
    around(compareAll(waves, [values], { ...aligned, lag: ownLags[lead]! }, qrs), aligned.sinusBeats);
  const all = around(compareAll(waves, waves.leads, aligned, qrs), aligned.sinusBeats);
  const single = waves.leads.length === 1 ? [all] : waves.leads.map(ofLead);
  const leastTimes = new Float32Array(waves.count).map((_, k) =>
    single.reduce((least, l) => (l.byNoise[k]! < mostNoise ? Math.min(least, l.times[k]!) : least), Infinity),
  );
  return { unlike: all.unlike, times: all.times, leastTimes };
}

interface Compared {
  readonly unlike: Float32Array;
  /** What noise alone would make of that. */
  readonly noise: Float32Array;
}

/** Each beat beside the average of the sinus-like ones around it, in these leads together. */
function compareAll(
  waves: BeatWaves,
  leads: readonly Float32Array[],
  { sinusLike, sinusBeats, lag }: Aligned,
  qrs: number,
): Compared {
  const before = Math.round(-quietS[0] * waves.stepsPerSecond);
  const quiet = Math.round((quietS[1] - quietS[0]) * waves.stepsPerSecond);
  const width = before + qrs + 1;
  const unlike = new Float32Array(waves.count);
  const noise = new Float32Array(waves.count);
  const sums = leads.map(() => new Float64Array(width));
  const startOf = (k: number) => middleOf(waves, k) + lag[k]! - before;
  const add = (k: number, sign: number) => {
    for (const [lead, sum] of sums.entries())
      for (let j = 0, i = startOf(k); j < width; j++, i++) sum[j]! += sign * leads[lead]![i]!;
  };
  let [from, to, next] = [0, 0, 0];
  for (let k = 0; k < waves.count; k++) {
    while (next < sinusBeats.length && sinusBeats[next]! < k) next++;
    while (to < Math.min(sinusBeats.length, next + aroundBeats + 1)) add(sinusBeats[to++]!, 1);
    while (from < Math.min(to, next - aroundBeats)) add(sinusBeats[from++]!, -1);
    if (!waves.whole[k]) continue;
    const mean = { sums, own: sinusLike[k]!, n: to - from - sinusLike[k]! };
    const start = startOf(k);
    const beat = compared(leads, start, mean, before - qrs, width);
    const still = compared(leads, start, mean, 0, quiet);
    unlike[k] = 1 - beat.similarity;
    // Of a wave with noise of the share r in its power, 1 - 2ab / (a2 + b2) is about r / 2.
    const perStep = still.difference / quiet;
    noise[k] = beat.usualPower > 0 ? Math.min(1, (perStep * (2 * qrs + 1)) / beat.usualPower / 2) : 0;
  }
  return { unlike, noise };
}

/** By the sinus-like beats around, or more where it is noisier. */
function around({ unlike, noise }: Compared, sinusBeats: Int32Array) {
  const ofSinus = Float32Array.from(sinusBeats, k => unlike[k]!);
  const byNoise = new Float32Array(noise.length);
  const times = new Float32Array(noise.length);
  for (let k = 0, n = 0; k < noise.length; k++) {
    while (n < sinusBeats.length && sinusBeats[n]! < k) n++;
    byNoise[k] = Math.max(noise[k]!, medianAt(ofSinus, n, usualBeats));
    const variety = Math.max(byNoise[k]!, medianAt(ofSinus, n, usualBeats, 0.75));
    times[k] = unlike[k]! / (variety + leastVariety);
  }
  return { unlike, byNoise, times };
}

interface Mean {
  readonly sums: readonly Float64Array[];
  /** 1 where the row itself is part of the sum. */
  readonly own: number;
  /** Rows in the sum besides it. */
  readonly n: number;
}

/** Steps `first` to `end` of a row that starts at `start`, beside the mean of the others. */
function compared(leads: readonly Float32Array[], start: number, { sums, own, n }: Mean, first: number, end: number) {
  let product = 0;
  let power = 0;
  let usualPower = 0;
  let difference = 0;
  for (const [lead, sum] of sums.entries())
    for (let j = first; j < end && n > 0; j++) {
      const a = leads[lead]![start + j]!;
      const b = (sum[j]! - own * a) / n;
      product += a * b;
      power += a * a + b * b;
      usualPower += b * b;
      difference += (a - b) * (a - b);
    }
  return { similarity: power > 0 ? (2 * product) / power : n > 0 ? 1 : 0, usualPower, difference };
}

function* indicesOf(flags: Uint8Array): Generator<number> {
  for (let k = 0; k < flags.length; k++) if (flags[k]) yield k;
}
