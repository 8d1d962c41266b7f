import type { Span } from '../units';
import { lowerBound, type Marks } from './markset';
import { BeatOutcome, defaultMatchSettings, type Matching, type MatchSettings, match } from './match';

/**
 * What became of each mark, read from the end states alone: marks as detected, marks as reviewed, and the stretches
 * where no beat can be judged. How many key presses led there leaves no trace.
 */
export enum Verdict {
  /** Same sample in both. */
  kept = 0,
  /** Paired within the tolerance, another sample: centred by the rater, no mistake of the detector. */
  refined = 1,
  /** Paired as a wrong peak: the detected mark sat on another wave of this beat. */
  moved = 2,
  /** A detected mark with no beat. */
  removed = 3,
  /** A reviewed mark with no detected partner. */
  inserted = 4,
  /** Lies in a stretch that is unreadable or has no signal, so nothing is judged. */
  unreadable = 5,
}

export interface Verdicts {
  /** Per detected mark: kept, refined, moved, removed or unreadable. */
  readonly ofDetected: Uint8Array;
  /** Per reviewed mark: kept, refined, moved, inserted or unreadable. */
  readonly ofReviewed: Uint8Array;
  /** Per detected mark: index of its partner among the reviewed marks, -1 when it has none. */
  readonly reviewedOf: Int32Array;
  /** Per reviewed mark: index of its partner among the detected marks, -1 when it has none. */
  readonly detectedOf: Int32Array;
}

/**
 * Verdicts of all marks of one recording, in the order of the marks. `excluded` holds unreadable spans and gaps.
 * An agreement table that knows only kept, moved and removed counts `refined` as kept.
 */
export function verdicts(
  detected: Marks,
  reviewed: Marks,
  excluded: readonly Span[],
  samplingRateHz: number,
  settings: MatchSettings = defaultMatchSettings,
): Verdicts {
  return verdictsOf(match(reviewed, detected, excluded, samplingRateHz, settings), detected, reviewed);
}

/** The same from a matching of `reviewed` (as beats) with `detected` (as marks) that is there already, as in a score. */
export function verdictsOf(matching: Matching, detected: Marks, reviewed: Marks): Verdicts {
  const one = markVerdicts(matching, detected, reviewed);
  return {
    ofDetected: Uint8Array.from(detected, (_, j) => one.ofDetected(j)),
    ofReviewed: Uint8Array.from(reviewed, (_, k) => one.ofReviewed(k)),
    reviewedOf: Int32Array.from(detected, (_, j) => one.reviewedOf(j)),
    detectedOf: Int32Array.from(reviewed, (_, k) => one.detectedOf(k)),
  };
}

/** As `Verdicts`, told mark by mark: a screen shows a few of the marks of a day, and each key may change what it shows. */
export interface MarkVerdicts {
  readonly matching: Matching;
  /** By index among the detected marks. */
  readonly ofDetected: (j: number) => Verdict;
  /** By index among the reviewed marks. */
  readonly ofReviewed: (k: number) => Verdict;
  readonly reviewedOf: (j: number) => number;
  readonly detectedOf: (k: number) => number;
}

/** Verdicts of a matching of `reviewed` (as beats) with `detected` (as marks); costs nothing until it is asked. */
export function markVerdicts(matching: Matching, detected: Marks, reviewed: Marks): MarkVerdicts {
  const { markOfBeat, beatOfMark } = matching;
  const beatAt = places(reviewed, matching.beats);
  const markAt = places(detected, matching.marks);
  const reviewedAt = places(matching.beats, reviewed);
  const detectedAt = places(matching.marks, detected);
  return {
    matching,
    ofDetected: j => {
      const m = markAt(j);
      if (m === -1) return Verdict.unreadable;
      return beatOfMark[m] === -1 ? Verdict.removed : ofBeat(matching, beatOfMark[m]!);
    },
    ofReviewed: k => {
      const b = beatAt(k);
      return b === -1 ? Verdict.unreadable : ofBeat(matching, b);
    },
    reviewedOf: j => reviewedAt(beatOfMark[markAt(j)] ?? -1),
    detectedOf: k => detectedAt(markOfBeat[beatAt(k)] ?? -1),
  };
}

function ofBeat({ markOfBeat, outcome, moved }: Matching, k: number): Verdict {
  if (markOfBeat[k] === -1) return Verdict.inserted;
  if (outcome[k] !== BeatOutcome.onPeak) return Verdict.moved;
  return moved[k] === 0 ? Verdict.kept : Verdict.refined;
}

/**
 * Where the marks of one sorted set stand in another, by index; -1 for one that is not there, and for -1. Whoever asks for
 * one again, or for one after the other, pays little for each.
 */
function places(from: Marks, to: Marks): (index: number) => number {
  // Where nothing is excluded a matching holds the very list.
  if (from === to) return index => index;
  let last = -1;
  return index => {
    const sample = from[index];
    if (sample === undefined) return -1;
    if (to[last] === sample) return last;
    if (to[last + 1] === sample) return ++last;
    const at = lowerBound(to, sample);
    if (to[at] !== sample) return -1;
    last = at;
    return at;
  };
}
