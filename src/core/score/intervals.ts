import { lowerBound, type Marks } from '../marks/markset';
import { BeatOutcome, type Matching } from '../marks/match';
import { median } from '../moments';
import type { Segment } from '../recording/recording';
import type { Span } from '../units';

/** What became of the interval between reviewed beats k and k + 1. `across` has an unreadable span between its beats. */
export enum IntervalFate {
  across = 0,
  right = 1,
  missed = 2,
  wrongPeak = 3,
  extra = 4,
}

export interface IntervalFates {
  /** Of each interval between consecutive reviewed beats (length: beats - 1), before segments are looked at. */
  readonly fates: Uint8Array;
  /** The intervals that are not right, by their first beats, ascending. */
  readonly notRight: Int32Array;
  /** The marks that do not begin a right interval, ascending. */
  readonly marksNotRight: Int32Array;
}

/**
 * Right: both beats on the peak and their two marks neighbours, in order. Else the first cause that applies: a missed
 * beat at either end, a wrong peak at either end, an extra mark inside. Only where the matching has doubts is looked.
 */
export function intervalFates(matching: Matching, excluded: readonly Span[]): IntervalFates {
  const { beats, markOfBeat, outcome, doubtful, marksOffPeak } = matching;
  const fates = new Uint8Array(Math.max(0, beats.length - 1)).fill(IntervalFate.right);
  const notRight: number[] = [];
  for (const k of doubtful) {
    if (k >= fates.length) continue;
    fates[k] = fateOf(matching, k);
    if (fates[k] !== IntervalFate.right) notRight.push(k);
  }
  for (const { start } of excluded) {
    const k = lowerBound(beats, start) - 1;
    if (k < 0 || k >= fates.length) continue;
    // A second span in the same interval finds it listed.
    if (fates[k] === IntervalFate.right) notRight.push(k);
    fates[k] = IntervalFate.across;
  }
  const marksNotRight = new Int32Array(marksOffPeak.length + notRight.length + 1);
  marksNotRight.set(marksOffPeak);
  let n = marksOffPeak.length;
  for (const k of notRight) if (outcome[k] === BeatOutcome.onPeak) marksNotRight[n++] = markOfBeat[k]!;
  if (outcome[fates.length] === BeatOutcome.onPeak) marksNotRight[n++] = markOfBeat[fates.length]!;
  return { fates, notRight: new Int32Array(notRight).sort(), marksNotRight: marksNotRight.subarray(0, n).sort() };
}

function fateOf({ outcome, markOfBeat }: Matching, k: number): IntervalFate {
  const { missed, onPeak } = BeatOutcome;
  const a = outcome[k];
  const b = outcome[k + 1];
  if (a === missed || b === missed) return IntervalFate.missed;
  if (a !== onPeak || b !== onPeak) return IntervalFate.wrongPeak;
  return markOfBeat[k + 1]! - markOfBeat[k]! === 1 ? IntervalFate.right : IntervalFate.extra;
}

/** Judged intervals: not across an unreadable span, and both beats inside one segment. */
export interface Judging {
  readonly beats: Marks;
  readonly fates: Uint8Array;
  readonly segments: readonly Segment[];
}

/**
 * Local RR interval in samples around `[start, end)`: median of up to 8 judged intervals on each side, from the nearest
 * outwards, whichever segment they are in. The median of an even number is the mean of the middle two. Null when there
 * is no judged interval anywhere.
 */
export function localRr(judging: Judging, start: number, end: number): number | null {
  const { beats, fates } = judging;
  const around: number[] = [];
  // From the last interval that ends at or before `start`.
  for (let k = lowerBound(beats, start + 1) - 2, n = 0; k >= 0 && n < 8; k--) {
    if (!isJudged(judging, k)) continue;
    around.push(beats[k + 1]! - beats[k]!);
    n++;
  }
  for (let k = lowerBound(beats, end), n = 0; k < fates.length && n < 8; k++) {
    if (!isJudged(judging, k)) continue;
    around.push(beats[k + 1]! - beats[k]!);
    n++;
  }
  return around.length === 0 ? null : median(around);
}

function isJudged({ beats, fates, segments }: Judging, k: number): boolean {
  if (fates[k] === IntervalFate.across) return false;
  for (const { start, end } of segments) if (beats[k]! >= start && beats[k + 1]! < end) return true;
  return false;
}
