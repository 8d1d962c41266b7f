import type { SampleArray } from '../recording/recording';
import { type FamilyAsks, familyApex } from './family-apex';
import { armSamples, peakedness } from './peakedness';

/** How far from a place the nearest peak is looked for: within one beat at any rate a heart can have. */
const reachMs = 150;
/** Waves this much flatter than the most peaked one in reach are no peaks to go to. */
const leastShare = 0.25;
/** Where no family is known, a mark that a person points to stays within the tolerance of where they pointed. */
const loneReachMs = 40;
/** A mark is taken from where it is only to a place that is surely its family's. */
const toSnap: FamilyAsks = { alikeThere: 0.9, climbMs: 10 };
/** Less is asked where nothing is marked yet. */
const toInsert: FamilyAsks = { alikeThere: 0.87, climbMs: 40 };
/** A peak this near is the one the mark stands on. */
const samePeakMs = 12;

/**
 * Where a beat is to be marked that a person points to, and says so by inserting: on the apex that the like beats around
 * it are marked on, or, for a beat without like ones, on the most peaked wave within 40 ms.
 * @param words a stretch of the lead; `at`, `marks` and the result are indices into it
 * @param marks the other marks in the stretch
 */
export function apexToInsert(words: SampleArray, at: number, marks: ArrayLike<number>, samplingRateHz: number): number {
  const family = familyApex(words, at, marks, samplingRateHz, toInsert);
  if (family !== null) return family;
  const peaks = peaksNear(words, at, samplingRateHz, loneReachMs);
  return peaks.reduce((best, p) => (p.height > best.height ? p : best), { at, height: 0 }).at;
}

/** Where a mark belongs by its family; where it is when no family is known. A right mark moves by 10 ms at most. */
export function apexToSnap(words: SampleArray, at: number, marks: ArrayLike<number>, samplingRateHz: number): number {
  return familyApex(words, at, marks, samplingRateHz, toSnap) ?? at;
}

/** The nearest peak of either sign other than the one the place is on; null when there is none within 150 ms. */
export function otherPeak(words: SampleArray, at: number, samplingRateHz: number): number | null {
  const own = (samePeakMs * samplingRateHz) / 1000;
  const [nearest] = peaksNear(words, at, samplingRateHz, reachMs)
    .filter(p => Math.abs(p.at - at) > own)
    .sort((a, b) => Math.abs(a.at - at) - Math.abs(b.at - at) || b.height - a.height);
  return nearest?.at ?? null;
}

interface Peak {
  readonly at: number;
  readonly height: number;
}

/** Local extremes of the peak measure, each put on the extremum of the words beside it. */
function peaksNear(words: SampleArray, at: number, hz: number, withinMs: number): Peak[] {
  const arm = armSamples(hz);
  const reach = Math.round((withinMs * hz) / 1000);
  const lo = Math.max(arm, at - reach);
  const hi = Math.min(words.length - 1 - arm, at + reach);
  const height = (i: number) => Math.abs(peakedness(words, i, arm));
  let highest = 0;
  for (let i = lo; i <= hi; i++) highest = Math.max(highest, height(i));
  const out: Peak[] = [];
  for (let i = lo; i <= hi; i++) {
    const h = height(i);
    if (h < leastShare * highest || h === 0) continue;
    if (h < height(Math.max(lo, i - 1)) || h <= height(Math.min(hi, i + 1))) continue;
    const top = extremumBeside(words, i, Math.max(1, arm >> 2), peakedness(words, i, arm));
    if (top !== null) out.push({ at: top, height: h });
  }
  return out;
}

/**
 * The extremum within a few samples: the peak measure may peak beside it on a sloping baseline. Null where the signal
 * only bends, as beside the foot of a wave.
 */
function extremumBeside(words: SampleArray, from: number, reach: number, sign: number): number | null {
  let best = from;
  for (let i = Math.max(0, from - reach); i <= Math.min(words.length - 1, from + reach); i++) {
    if (words[i]! * sign > words[best]! * sign) best = i;
  }
  const higherThan = (i: number) => words[best]! * sign > words[Math.max(0, Math.min(words.length - 1, i))]! * sign;
  return higherThan(best - reach) && higherThan(best + reach) ? best : null;
}
