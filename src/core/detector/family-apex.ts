import type { SampleArray } from '../recording/recording';
import { armSamples, mostPeaked } from './peakedness';

/**
 * Where a beat of the same family has its mark: the wave near a place is laid over the beats marked around it, and the
 * mark goes where the most alike of them have theirs. Normal, wide and inverted beats each follow their own kind.
 * Correlation with like beats is common practice.
 */
const reachMs = 150;
const halfMs = 110;
/** Snippets are compared at about this rate; the last step is at the full one. */
const compareHz = 250;
/** A family has at least this many members besides the beat itself. */
const members = 3;
/** Mean correlation with the most alike beats from which a place is the family's own: the mark stays on its apex. */
const alikeHere = 0.55;
/** The mark goes to a place further off only where the wave is clearly more peaked. */
const morePeaked = 1.25;
const clearer = { alike: 0.97, peaked: 2 };
const surelyHere = 0.8;
const polishMs = 10;

/** What is asked before a mark is put elsewhere than where it was pointed to. */
export interface FamilyAsks {
  /** Mean correlation from which a place more than 10 ms off is the family's. */
  readonly alikeThere: number;
  /** How far it may go to where it is most alike, while it is alike all the way; 10 ms and less is the apex alone. */
  readonly climbMs: number;
}

/**
 * @param words a stretch of the lead; `at`, `marks` and the result are indices into it
 * @param marks the other marks in the stretch, without the one in question
 * @returns null where no family is known at or near the place
 */
export function familyApex(
  words: SampleArray,
  at: number,
  marks: ArrayLike<number>,
  samplingRateHz: number,
  asks: FamilyAsks,
): number | null {
  const step = Math.max(1, Math.round(samplingRateHz / compareHz));
  const half = Math.round((halfMs * samplingRateHz) / 1000 / step);
  const polish = Math.max(1, Math.round((polishMs * samplingRateHz) / 1000));
  const family = { words, step, half, polish, beats: snippetsAt(words, marks, step, half) };
  if (family.beats.length < members) return null;
  const reach = Math.round((reachMs * samplingRateHz) / 1000 / step);
  const correlation = correlationAround(family, at, reach);
  const near = Math.max(1, Math.round(polish / step));
  let here = reach;
  for (let s = reach - near; s <= reach + near; s++) if (correlation[s]! > correlation[here]!) here = s;
  const arm = armSamples(samplingRateHz);
  const peakedAt = (shift: number) => mostPeaked(words, at + shift * step, polish, arm);
  const ownPlace = correlation[here]! >= alikeHere;
  // A mark on a T wave may be somewhat like the beats: what draws it away must then be all the clearer.
  const asked = ownPlace ? clearer : { alike: asks.alikeThere, peaked: morePeaked };
  const there = correlation[here]! < surelyHere ? clearlyThere(correlation, reach, asked, peakedAt) : null;
  if (there !== null) return onApex(family, at + there * step);
  if (ownPlace) {
    const limit = Math.round((asks.climbMs * samplingRateHz) / 1000 / step);
    return onApex(family, limit > near ? at + (climb(correlation, here, reach, limit) - reach) * step : at);
  }
  return null;
}

/** The shift to the most peaked place that is alike and peaked enough; null when there is none. */
function clearlyThere(
  correlation: Float64Array,
  reach: number,
  asked: { readonly alike: number; readonly peaked: number },
  peakedAt: (shift: number) => number,
): number | null {
  let best: number | null = null;
  let most = asked.peaked * peakedAt(0);
  for (let s = 1; s + 1 < correlation.length; s++) {
    const v = correlation[s]!;
    if (v < asked.alike || v < correlation[s - 1]! || v < correlation[s + 1]!) continue;
    const peaked = peakedAt(s - reach);
    if (peaked > most) [best, most] = [s - reach, peaked];
  }
  return best;
}

/** Index of the local maximum reached by going uphill from `from`, within `limit` of the middle. */
function climb(correlation: Float64Array, from: number, middle: number, limit: number): number {
  let i = from;
  for (;;) {
    const next = correlation[i + 1]! > correlation[i]! ? i + 1 : correlation[i - 1]! > correlation[i]! ? i - 1 : i;
    if (next === i || Math.abs(next - middle) > limit) return i;
    i = next;
  }
}

interface Family {
  readonly words: SampleArray;
  readonly step: number;
  readonly half: number;
  readonly polish: number;
  readonly beats: readonly Snippet[];
}

interface Snippet {
  readonly at: number;
  readonly values: Float64Array;
}

/** Mean correlation with the most alike beats at each shift from `-reach` to `reach` steps. */
function correlationAround({ words, step, half, beats }: Family, at: number, reach: number): Float64Array {
  const out = new Float64Array(2 * reach + 1);
  for (let s = -reach; s <= reach; s++) {
    const own = snippet(words, at + s * step, step, half);
    out[s + reach] = own ? meanOfBest(beats, own) : -1;
  }
  return out;
}

function snippetsAt(words: SampleArray, marks: ArrayLike<number>, step: number, half: number): Snippet[] {
  const out: Snippet[] = [];
  for (let i = 0; i < marks.length; i++) {
    const values = snippet(words, marks[i]!, step, half);
    if (values) out.push({ at: marks[i]!, values });
  }
  return out;
}

/** Mean taken off, norm 1; null where it would reach past the words or does not change. */
function snippet(words: SampleArray, at: number, step: number, half: number): Float64Array | null {
  if (at - (half + 1) * step < 0 || at + (half + 1) * step > words.length) return null;
  const out = new Float64Array(2 * half + 1);
  let mean = 0;
  for (let k = 0; k < out.length; k++) {
    let sum = 0;
    const from = at + (k - half) * step - (step >> 1);
    for (let i = from; i < from + step; i++) sum += words[i]!;
    out[k] = sum;
    mean += sum;
  }
  mean /= out.length;
  let squares = 0;
  for (let k = 0; k < out.length; k++) {
    out[k]! -= mean;
    squares += out[k]! * out[k]!;
  }
  if (!(squares > 0)) return null;
  const scale = 1 / Math.sqrt(squares);
  for (let k = 0; k < out.length; k++) out[k]! *= scale;
  return out;
}

function dot(a: Float64Array, b: Float64Array): number {
  let sum = 0;
  for (let k = 0; k < a.length; k++) sum += a[k]! * b[k]!;
  return sum;
}

function meanOfBest(beats: readonly Snippet[], own: Float64Array): number {
  const best = new Float64Array(members).fill(-1);
  for (const beat of beats) {
    let c = dot(beat.values, own);
    for (let k = 0; k < members; k++) if (c > best[k]!) [best[k], c] = [c, best[k]!];
  }
  return best.reduce((a, b) => a + b, 0) / members;
}

/** The extremum that the family's marks stand on, within 10 ms of a place; the place itself where there is none. */
function onApex({ words, step, half, polish, beats }: Family, at: number): number {
  const own = snippet(words, at, step, half);
  if (!own) return at;
  const likest = [...beats].sort((a, b) => dot(b.values, own) - dot(a.values, own)).slice(0, members);
  const sign = Math.sign(likest.reduce((sum, beat) => sum + extremumAt(words, beat.at, polish), 0));
  if (sign === 0) return at;
  let top = at;
  for (let i = Math.max(0, at - polish); i <= Math.min(words.length - 1, at + polish); i++) {
    if (words[i]! * sign > words[top]! * sign) top = i;
  }
  return Math.abs(top - at) === polish ? at : top;
}

/** 1 when a mark stands beside a maximum alone, -1 beside a minimum alone, else 0. */
function extremumAt(words: SampleArray, at: number, reach: number): number {
  const near = words.subarray(Math.max(0, at - reach), at + reach + 1);
  let high = 0;
  let low = 0;
  for (let i = 0; i < near.length; i++) {
    if (near[i]! > near[high]!) high = i;
    if (near[i]! < near[low]!) low = i;
  }
  const inside = (i: number) => (i > 0 && i < near.length - 1 ? 1 : 0);
  return inside(high) - inside(low);
}
