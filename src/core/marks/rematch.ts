import type { Span } from '../units';
import { between, differing, type Marks } from './markset';
import { BeatOutcome, type Matching, type MatchSettings, match, outside, reachInSamples } from './match';
import { normalise } from './spans';

/** What a matching was made from, less the lists. */
export interface MatchedWith {
  readonly samplingRateHz: number;
  readonly settings: MatchSettings;
}

/**
 * What `match` gives, worked out from `before`, a matching with the same rate and settings of lists that differ little from
 * these, as before and after one edit. A beat that is on the peak, with no other beat or mark in reach of it or of its mark,
 * parts what comes before from what comes after: no pair goes across it. So all up to the last such beat before the first
 * difference is taken over, and all from the first such beat after the last one.
 */
export function rematch(
  before: Matching,
  beats: Marks,
  marks: Marks,
  excluded: readonly Span[],
  { samplingRateHz, settings }: MatchedWith,
): Matching {
  const spans = normalise(excluded);
  const now: Lists = { beats: outside(beats, spans), marks: outside(marks, spans) };
  const reach = reachInSamples(settings.onPeakToleranceMs, samplingRateHz);
  const window = windowOf(before, now, reach);
  const { from, old, to } = window;
  const part = match(
    now.beats.subarray(from.beats, to.beats),
    now.marks.subarray(from.marks, to.marks),
    [],
    samplingRateHz,
    settings,
  );
  const ofBeats: Change = { from: from.beats, old: old.beats, by: to.beats - old.beats };
  const ofMarks: Change = { from: from.marks, old: old.marks, by: to.marks - old.marks };
  return {
    ...now,
    markOfBeat: partners(before.markOfBeat, ofBeats, part.markOfBeat, ofMarks),
    outcome: bytes(before.outcome, ofBeats, part.outcome),
    moved: bytes(before.moved, ofBeats, part.moved),
    beatOfMark: partners(before.beatOfMark, ofMarks, part.beatOfMark, ofBeats),
    beatsOffPeak: indices(before.beatsOffPeak, ofBeats, part.beatsOffPeak),
    marksOffPeak: indices(before.marksOffPeak, ofMarks, part.marksOffPeak),
    doubtful: indices(before.doubtful, { ...ofBeats, old: window.lastOld }, part.doubtful),
  };
}

type Lists = Pick<Matching, 'beats' | 'marks'>;

/** Of beats and of marks. */
interface Both {
  readonly beats: number;
  readonly marks: number;
}

/** The half-open range to match again, by indices: where it begins, and its end in the old lists and in the new. */
interface Window {
  readonly from: Both;
  readonly old: Both;
  readonly to: Both;
  /** The old index of the beat that ends the window, after which all is taken over; without one, of the end. */
  readonly lastOld: number;
}

function windowOf(before: Matching, now: Lists, reach: number): Window {
  const { markOfBeat, outcome } = before;
  const b = differing(before.beats, now.beats);
  const m = differing(before.marks, now.marks);
  const apart = (k: number, byBeats: number, byMarks: number) => {
    const j = markOfBeat[k]!;
    return (
      outcome[k] === BeatOutcome.onPeak && isAlone(before, k, j, reach) && isAlone(now, k + byBeats, j + byMarks, reach)
    );
  };
  let first = b.from - 1;
  while (first >= 0 && !(markOfBeat[first]! < m.from && apart(first, 0, 0))) first--;
  const byBeats = now.beats.length - before.beats.length;
  const byMarks = now.marks.length - before.marks.length;
  let last = Math.max(b.to, first + 1);
  while (last < before.beats.length && !(markOfBeat[last]! >= m.to && apart(last, byBeats, byMarks))) last++;
  const old: Both =
    last < before.beats.length
      ? { beats: last + 1, marks: markOfBeat[last]! + 1 }
      : { beats: before.beats.length, marks: before.marks.length };
  return {
    from: first < 0 ? { beats: 0, marks: 0 } : { beats: first, marks: markOfBeat[first]! },
    old,
    to: { beats: old.beats + byBeats, marks: old.marks + byMarks },
    lastOld: last,
  };
}

/** Whether beat k and mark j have no other beat or mark in reach of them. */
function isAlone({ beats, marks }: Lists, k: number, j: number, reach: number): boolean {
  const beat = beats[k]!;
  const mark = marks[j]!;
  return (
    (k === 0 || mark - beats[k - 1]! > reach) &&
    (k + 1 === beats.length || beats[k + 1]! - mark > reach) &&
    (j === 0 || beat - marks[j - 1]! > reach) &&
    (j + 1 === marks.length || marks[j + 1]! - beat > reach)
  );
}

/** Of one list: what stood from `from` to `old` is another now, and what followed stands `by` further on. */
interface Change {
  readonly from: number;
  readonly old: number;
  readonly by: number;
}

function bytes(before: Uint8Array, { from, old, by }: Change, part: Uint8Array): Uint8Array {
  const out = new Uint8Array(before.length + by);
  out.set(before.subarray(0, from));
  out.set(part, from);
  out.set(before.subarray(old), old + by);
  return out;
}

/** `there` is the change of the list that the partners stand in. */
function partners(before: Int32Array, { from, old, by }: Change, part: Int32Array, there: Change): Int32Array {
  const out = new Int32Array(before.length + by);
  out.set(before.subarray(0, from));
  putShifted(out, from, part, there.from);
  if (there.by === 0) out.set(before.subarray(old), old + by);
  else putShifted(out, old + by, before.subarray(old), there.by);
  return out;
}

/** Writes partners into `out` from `at` on, as counted from elsewhere; -1 stays: there is none. */
function putShifted(out: Int32Array, at: number, partnersHere: Int32Array, by: number): void {
  for (let i = 0; i < partnersHere.length; i++) out[at + i] = partnersHere[i] === -1 ? -1 : partnersHere[i]! + by;
}

/** A sorted list of indices into the list that changed. */
function indices(before: Int32Array, { from, old, by }: Change, part: Int32Array): Int32Array {
  const head = between(before, 0, from);
  const tail = between(before, old, Number.POSITIVE_INFINITY);
  const out = new Int32Array(head.length + part.length + tail.length);
  out.set(head);
  for (let i = 0; i < part.length; i++) out[head.length + i] = part[i]! + from;
  for (let i = 0; i < tail.length; i++) out[head.length + part.length + i] = tail[i]! + by;
  return out;
}
