import { lowerBound, type Marks } from '../marks/markset';
import { BeatOutcome, type Matching } from '../marks/match';
import type { Segment } from '../recording/recording';
import type { Span } from '../units';
import { median } from './moments';

/** What became of the interval between reviewed beats k and k + 1. `across` has an unreadable span between its beats. */
export enum IntervalFate {
  across = 0,
  right = 1,
  missed = 2,
  wrongPeak = 3,
  extra = 4,
}

/**
 * Fate of each interval between consecutive reviewed beats (length: beats - 1), before segments are looked at.
 * Right: both beats on the peak and their two marks neighbours, in order. Else the first cause that applies: a missed
 * beat at either end, a wrong peak at either end, an extra mark inside.
 */
export function intervalFates(matching: Matching, excluded: readonly Span[]): Uint8Array {
  const { beats, outcome, markOfBeat } = matching;
  // As plain constants: this loop runs over every beat at every edit.
  const { missed, onPeak } = BeatOutcome;
  const { across, right, missed: byMissed, wrongPeak: byWrongPeak, extra } = IntervalFate;
  const fates = new Uint8Array(Math.max(0, beats.length - 1));
  for (let k = 0; k < fates.length; k++) {
    const a = outcome[k]!;
    const b = outcome[k + 1]!;
    if (a === onPeak && b === onPeak) fates[k] = markOfBeat[k + 1]! - markOfBeat[k]! === 1 ? right : extra;
    else fates[k] = a === missed || b === missed ? byMissed : byWrongPeak;
  }
  for (const { start } of excluded) {
    const after = lowerBound(beats, start);
    if (after > 0 && after < beats.length) fates[after - 1] = across;
  }
  return fates;
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
