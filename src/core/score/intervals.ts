import { lowerBound } from '../marks/markset';
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
  const { missed, wrongPeak } = BeatOutcome;
  const fates = new Uint8Array(Math.max(0, beats.length - 1));
  let s = 0;
  // The next excluded span, in plain numbers: this loop runs over every beat at every edit.
  let from: number = excluded[0]?.start ?? Number.POSITIVE_INFINITY;
  let to: number = excluded[0]?.end ?? Number.POSITIVE_INFINITY;
  for (let k = 0; k < fates.length; k++) {
    while (to <= beats[k]!) {
      s++;
      from = excluded[s]?.start ?? Number.POSITIVE_INFINITY;
      to = excluded[s]?.end ?? Number.POSITIVE_INFINITY;
    }
    if (from < beats[k + 1]!) continue;
    const a = outcome[k];
    const b = outcome[k + 1];
    if (a === missed || b === missed) fates[k] = IntervalFate.missed;
    else if (a === wrongPeak || b === wrongPeak) fates[k] = IntervalFate.wrongPeak;
    else fates[k] = markOfBeat[k + 1]! - markOfBeat[k]! === 1 ? IntervalFate.right : IntervalFate.extra;
  }
  return fates;
}

/** Indices k of the judged intervals: not across an unreadable span, and both beats inside one segment. Increasing. */
export function judgedIntervals(matching: Matching, fates: Uint8Array, segments: readonly Segment[]): Int32Array {
  const out = new Int32Array(fates.length);
  let n = 0;
  for (const segment of [...segments].sort((a, b) => a.start - b.start)) {
    const lo = lowerBound(matching.beats, segment.start);
    const hi = lowerBound(matching.beats, segment.end) - 1;
    for (let k = Math.max(lo, n > 0 ? out[n - 1]! + 1 : 0); k < hi; k++) {
      if (fates[k] !== IntervalFate.across) out[n++] = k;
    }
  }
  return out.subarray(0, n);
}

/**
 * Local RR interval in samples around `[start, end)`: median of up to 8 judged intervals on each side, from the nearest
 * outwards, whichever segment they are in. The median of an even number is the mean of the middle two. Null when there
 * is no judged interval anywhere.
 */
export function localRr(matching: Matching, judged: Int32Array, start: number, end: number): number | null {
  const { beats } = matching;
  const around: number[] = [];
  for (let i = firstJudgedFrom(beats, judged, start) - 1, n = 0; i >= 0 && n < 8; i--) {
    if (beats[judged[i]! + 1]! > start) continue;
    around.push(beats[judged[i]! + 1]! - beats[judged[i]!]!);
    n++;
  }
  for (let i = firstJudgedFrom(beats, judged, end), n = 0; i < judged.length && n < 8; i++, n++) {
    around.push(beats[judged[i]! + 1]! - beats[judged[i]!]!);
  }
  return around.length === 0 ? null : median(around);
}

/** Position in `judged` of the first interval that starts at or after `sample`. */
function firstJudgedFrom(beats: Int32Array, judged: Int32Array, sample: number): number {
  let lo = 0;
  let hi = judged.length;
  while (lo < hi) {
    const mid = (lo + hi) >> 1;
    if (beats[judged[mid]!]! < sample) lo = mid + 1;
    else hi = mid;
  }
  return lo;
}
