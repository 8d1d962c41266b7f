import { lowerBound, type Marks } from '../marks/markset';
import { BeatOutcome, type Matching } from '../marks/match';
import { median } from '../moments';
import type { Segment } from '../recording/recording';
import type { Span } from '../units';

/** What became of the interval between reviewed beats k and k + 1. `across` has an unreadable span between its beats. */
export enum IntervalOutcome {
  across = 0,
  right = 1,
  missed = 2,
  wrongPeak = 3,
  extra = 4,
}

export interface IntervalOutcomes {
  /** Of each interval between consecutive reviewed beats (length: beats - 1), before segments are looked at. */
  readonly outcomes: Uint8Array;
  /** The intervals that are not right, by their first beats, ascending. */
  readonly notRight: Int32Array;
  /** The marks that do not begin a right interval, ascending. */
  readonly marksNotRight: Int32Array;
}

/**
 * Right: both beats on the peak and their two marks neighbours, in order. Else the first cause that applies: a missed
 * beat at either end, a wrong peak at either end, an extra mark inside. Only where the matching has doubts is looked.
 */
export function intervalOutcomes(matching: Matching, excluded: readonly Span[]): IntervalOutcomes {
  const { beats, markOfBeat, outcome, doubtful, marksOffPeak } = matching;
  const outcomes = new Uint8Array(Math.max(0, beats.length - 1)).fill(IntervalOutcome.right);
  const notRight: number[] = [];
  for (const k of doubtful) {
    if (k >= outcomes.length) continue;
    outcomes[k] = outcomeOf(matching, k);
    if (outcomes[k] !== IntervalOutcome.right) notRight.push(k);
  }
  for (const { start } of excluded) {
    const k = lowerBound(beats, start) - 1;
    if (k < 0 || k >= outcomes.length) continue;
    // A second span in the same interval finds it listed.
    if (outcomes[k] === IntervalOutcome.right) notRight.push(k);
    outcomes[k] = IntervalOutcome.across;
  }
  const marksNotRight = new Int32Array(marksOffPeak.length + notRight.length + 1);
  marksNotRight.set(marksOffPeak);
  let n = marksOffPeak.length;
  for (const k of notRight) if (outcome[k] === BeatOutcome.onPeak) marksNotRight[n++] = markOfBeat[k]!;
  if (outcome[outcomes.length] === BeatOutcome.onPeak) marksNotRight[n++] = markOfBeat[outcomes.length]!;
  return { outcomes, notRight: new Int32Array(notRight).sort(), marksNotRight: marksNotRight.subarray(0, n).sort() };
}

function outcomeOf({ outcome, markOfBeat }: Matching, k: number): IntervalOutcome {
  const { missed, onPeak } = BeatOutcome;
  const a = outcome[k];
  const b = outcome[k + 1];
  if (a === missed || b === missed) return IntervalOutcome.missed;
  if (a !== onPeak || b !== onPeak) return IntervalOutcome.wrongPeak;
  return markOfBeat[k + 1]! - markOfBeat[k]! === 1 ? IntervalOutcome.right : IntervalOutcome.extra;
}

/** Judged intervals: not across an unreadable span, and both beats inside one segment. */
export interface Judging {
  readonly beats: Marks;
  readonly outcomes: Uint8Array;
  readonly segments: readonly Segment[];
}

/**
 * Local RR interval in samples around `[start, end)`: median of up to 8 judged intervals on each side, from the nearest
 * outwards, whichever segment they are in. The median of an even number is the mean of the middle two. Null when there
 * is no judged interval anywhere.
 */
export function localRr(judging: Judging, start: number, end: number): number | null {
  const { beats, outcomes } = judging;
  const around: number[] = [];
  // From the last interval that ends at or before `start`.
  for (let k = lowerBound(beats, start + 1) - 2, n = 0; k >= 0 && n < 8; k--) {
    if (!isJudged(judging, k)) continue;
    around.push(beats[k + 1]! - beats[k]!);
    n++;
  }
  for (let k = lowerBound(beats, end), n = 0; k < outcomes.length && n < 8; k++) {
    if (!isJudged(judging, k)) continue;
    around.push(beats[k + 1]! - beats[k]!);
    n++;
  }
  return around.length === 0 ? null : median(around);
}

function isJudged({ beats, outcomes, segments }: Judging, k: number): boolean {
  if (outcomes[k] === IntervalOutcome.across) return false;
  for (const { start, end } of segments) if (beats[k]! >= start && beats[k + 1]! < end) return true;
  return false;
}
