import type { Span } from '../units';
import { between, lowerBound, type Marks } from './markset';
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

/** What of a matching tells the verdicts. */
type MarksMatched = Omit<Matching, 'beatsOffPeak' | 'doubtful'>;

/** The same from a matching of `reviewed` (as beats) with `detected` (as marks) that is there already, as in a score. */
export function verdictsOf(matching: MarksMatched, detected: Marks, reviewed: Marks): Verdicts {
  const { beats, markOfBeat, beatOfMark, outcome, moved, marksOffPeak } = matching;
  // Where nothing is excluded the matching holds the very list.
  const detectedAt = detected === matching.marks ? null : places(detected, matching.marks);
  const out: Verdicts = {
    ofDetected: new Uint8Array(detected.length).fill(Verdict.unreadable),
    ofReviewed: new Uint8Array(reviewed.length).fill(Verdict.unreadable),
    reviewedOf: new Int32Array(detected.length).fill(-1),
    detectedOf: new Int32Array(reviewed.length).fill(-1),
  };
  const { ofDetected, ofReviewed, reviewedOf, detectedOf } = out;
  // As plain constants: this loop runs over every beat at every edit.
  const { onPeak } = BeatOutcome;
  const { kept, refined, moved: ofWrongPeak, inserted } = Verdict;
  for (let k = 0, at = 0; k < beats.length; k++, at++) {
    while (reviewed[at] !== beats[k]) at++;
    const j = markOfBeat[k]!;
    if (j === -1) {
      ofReviewed[at] = inserted;
      continue;
    }
    const partner = detectedAt ? detectedAt[j]! : j;
    const verdict = outcome[k] === onPeak ? (moved[k] === 0 ? kept : refined) : ofWrongPeak;
    ofReviewed[at] = verdict;
    ofDetected[partner] = verdict;
    detectedOf[at] = partner;
    reviewedOf[partner] = at;
  }
  for (const j of marksOffPeak) if (beatOfMark[j] === -1) ofDetected[detectedAt ? detectedAt[j]! : j] = Verdict.removed;
  return out;
}

/**
 * The same for the marks of one stretch, from <= sample < to, without a look at any other; indices count from the first of
 * the stretch in each list. A mark whose partner lies outside the stretch looks alone: whoever asks leaves room for it.
 */
export function verdictsWithin(
  matching: Matching,
  detected: Marks,
  reviewed: Marks,
  from: number,
  to: number,
): Stretch {
  const here = (sorted: Marks) => between(sorted, from, to);
  const beats = here(matching.beats);
  const marks = here(matching.marks);
  const b = lowerBound(matching.beats, from);
  const m = lowerBound(matching.marks, from);
  const local = (partners: Int32Array, first: number, count: number) =>
    partners.map(p => (p >= first && p < first + count ? p - first : -1));
  const part: MarksMatched = {
    beats,
    marks,
    markOfBeat: local(matching.markOfBeat.subarray(b, b + beats.length), m, marks.length),
    outcome: matching.outcome.subarray(b, b + beats.length),
    moved: matching.moved.subarray(b, b + beats.length),
    beatOfMark: local(matching.beatOfMark.subarray(m, m + marks.length), b, beats.length),
    marksOffPeak: between(matching.marksOffPeak, m, m + marks.length).map(k => k - m),
  };
  const stretch = { detected: here(detected), reviewed: here(reviewed) };
  return { ...stretch, verdicts: verdictsOf(part, stretch.detected, stretch.reviewed) };
}

/** The marks of a stretch and what became of them. */
export interface Stretch {
  readonly detected: Marks;
  readonly reviewed: Marks;
  readonly verdicts: Verdicts;
}

/** Where each mark of the sorted subset stands in the whole sorted set. */
function places(all: Marks, subset: Marks): Int32Array {
  const out = new Int32Array(subset.length);
  let i = 0;
  for (let k = 0; k < subset.length; k++) {
    while (all[i] !== subset[k]) i++;
    out[k] = i++;
  }
  return out;
}
