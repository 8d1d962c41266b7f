import { lowerBound, type Marks } from '../marks/markset';
import { BeatOutcome, type Matching, type MatchSettings, match } from '../marks/match';
import { intersect, subtract, totalLength, union } from '../marks/spans';
import type { Segment } from '../recording/recording';
import type { Span } from '../units';
import { IntervalFate, intervalFates, judgedIntervals } from './intervals';
import { type LostStretch, lostStretches } from './lost';

/** Everything a score is computed from; all positions are samples of one recording. */
export interface ScoreInput {
  /** Reviewed marks: where the beats are. */
  readonly beats: Marks;
  /** Detected marks. */
  readonly marks: Marks;
  readonly unreadable: readonly Span[];
  /** Stretches without signal. */
  readonly gaps: readonly Span[];
  readonly segments: readonly Segment[];
  readonly samplingRateHz: number;
  readonly settings: MatchSettings;
}

/** Plain counts of one segment, or their sum over segments. */
export interface Counts {
  /** Reviewed beats outside unreadable spans. */
  readonly beats: number;
  /** Detected marks outside unreadable spans. */
  readonly marks: number;
  readonly onPeak: number;
  readonly refined: number;
  readonly missed: number;
  readonly wrongPeak: number;
  readonly extra: number;
  /** Detected marks not on a peak: extra ones and those on a wrong peak. */
  readonly offPeakMarks: number;
  readonly judged: number;
  readonly right: number;
  readonly wrongByMissed: number;
  readonly wrongByWrongPeak: number;
  readonly wrongByExtra: number;
  /** Null when there is something unreadable and no judged interval anywhere to measure it by. */
  readonly lost: number | null;
  readonly lostUnreadable: number | null;
  readonly lostNoSignal: number | null;
  readonly ownIntervals: number;
  readonly ownRight: number;
  readonly seconds: number;
  readonly unreadableSeconds: number;
  readonly noSignalSeconds: number;
}

export interface SegmentScore {
  readonly segment: Segment;
  readonly counts: Counts;
  readonly lostStretches: readonly LostStretch[];
  /** Errors of the right intervals in ms: (mark interval) - (beat interval). */
  readonly intervalErrorsMs: Float64Array;
}

export interface RecordingScore {
  readonly input: ScoreInput;
  readonly matching: Matching;
  readonly fates: Uint8Array;
  readonly segments: readonly SegmentScore[];
  readonly total: SegmentScore;
}

/** Scores one recording: definitions in the design of RR-interval quality (README, "How it counts"). */
export function scoreRecording(input: ScoreInput): RecordingScore {
  const excluded = union(input.unreadable, input.gaps);
  const matching = match(input.beats, input.marks, excluded, input.samplingRateHz, input.settings);
  const fates = intervalFates(matching, excluded);
  const judged = judgedIntervals(matching, fates, input.segments);
  const marked = subtract(input.unreadable, input.gaps);
  const segments = input.segments.map(s => scoreSegment(input, matching, fates, judged, excluded, marked, s));
  return { input, matching, fates, segments, total: sum(input, segments) };
}

function scoreSegment(
  input: ScoreInput,
  matching: Matching,
  fates: Uint8Array,
  judged: Int32Array,
  excluded: readonly Span[],
  marked: readonly Span[],
  segment: Segment,
): SegmentScore {
  const stretches = lostStretches(matching, judged, segment, excluded, input.gaps);
  const unreadable = intersect(marked, [segment]);
  const counts: Counts = {
    ...countBeats(matching, segment),
    ...countMarks(matching, segment),
    ...countFates(matching, fates, segment),
    ...countOwn(matching, fates, excluded, segment),
    lost: addUp(stretches),
    lostUnreadable: addUp(stretches.filter(s => s.kind === 'unreadable')),
    lostNoSignal: addUp(stretches.filter(s => s.kind === 'no signal')),
    seconds: (segment.end - segment.start) / input.samplingRateHz,
    unreadableSeconds: totalLength(unreadable) / input.samplingRateHz,
    noSignalSeconds: totalLength(intersect(input.gaps, [segment])) / input.samplingRateHz,
  };
  const intervalErrorsMs = errorsMs(matching, fates, segment, input.samplingRateHz);
  return { segment, counts, lostStretches: stretches, intervalErrorsMs };
}

function addUp(stretches: readonly LostStretch[]): number | null {
  let lost = 0;
  for (const s of stretches) {
    if (s.intervals === null) return null;
    lost += s.intervals;
  }
  return lost;
}

// The counts below are kept in plain variables: these loops run over every beat and mark at every edit.

function countBeats({ beats, marks, outcome, markOfBeat }: Matching, segment: Segment) {
  const of = BeatOutcome;
  const lo = lowerBound(beats, segment.start);
  const hi = lowerBound(beats, segment.end);
  let missed = 0;
  let wrongPeak = 0;
  let refined = 0;
  for (let k = lo; k < hi; k++) {
    const met = outcome[k];
    if (met === of.missed) missed++;
    else if (met === of.wrongPeak) wrongPeak++;
    else if (marks[markOfBeat[k]!] !== beats[k]) refined++;
  }
  const count = Math.max(0, hi - lo);
  return { beats: count, onPeak: count - missed - wrongPeak, refined, missed, wrongPeak };
}

function countMarks({ marks, beatOfMark, outcome }: Matching, segment: Segment) {
  const { onPeak } = BeatOutcome;
  const lo = lowerBound(marks, segment.start);
  const hi = lowerBound(marks, segment.end);
  let extra = 0;
  let wrong = 0;
  for (let j = lo; j < hi; j++) {
    const k = beatOfMark[j]!;
    if (k === -1) extra++;
    else if (outcome[k] !== onPeak) wrong++;
  }
  return { marks: Math.max(0, hi - lo), extra, offPeakMarks: extra + wrong };
}

function countFates({ beats }: Matching, fates: Uint8Array, segment: Segment) {
  const tally = new Int32Array(5);
  const hi = lowerBound(beats, segment.end) - 1;
  for (let k = lowerBound(beats, segment.start); k < hi; k++) tally[fates[k]!]!++;
  const [, right = 0, wrongByMissed = 0, wrongByWrongPeak = 0, wrongByExtra = 0] = tally;
  const judged = right + wrongByMissed + wrongByWrongPeak + wrongByExtra;
  return { judged, right, wrongByMissed, wrongByWrongPeak, wrongByExtra };
}

/** The recorder's own intervals: consecutive marks in the segment with nothing unreadable between them. */
function countOwn(matching: Matching, fates: Uint8Array, excluded: readonly Span[], segment: Segment) {
  const { marks, beatOfMark } = matching;
  const { right } = IntervalFate;
  const hi = lowerBound(marks, segment.end) - 1;
  let ownIntervals = 0;
  let ownRight = 0;
  let s = 0;
  let from: number = excluded[0]?.start ?? Number.POSITIVE_INFINITY;
  let to: number = excluded[0]?.end ?? Number.POSITIVE_INFINITY;
  for (let j = lowerBound(marks, segment.start); j < hi; j++) {
    while (to <= marks[j]!) {
      s++;
      from = excluded[s]?.start ?? Number.POSITIVE_INFINITY;
      to = excluded[s]?.end ?? Number.POSITIVE_INFINITY;
    }
    if (from < marks[j + 1]!) continue;
    ownIntervals++;
    const k = beatOfMark[j]!;
    if (k !== -1 && beatOfMark[j + 1] === k + 1 && fates[k] === right) ownRight++;
  }
  return { ownIntervals, ownRight };
}

function errorsMs({ beats, marks, markOfBeat }: Matching, fates: Uint8Array, segment: Segment, rateHz: number) {
  const { right } = IntervalFate;
  const lo = lowerBound(beats, segment.start);
  const hi = lowerBound(beats, segment.end) - 1;
  const out = new Float64Array(Math.max(0, hi - lo));
  let n = 0;
  for (let k = lo; k < hi; k++) {
    if (fates[k] !== right) continue;
    const byMarks = marks[markOfBeat[k + 1]!]! - marks[markOfBeat[k]!]!;
    out[n++] = ((byMarks - (beats[k + 1]! - beats[k]!)) * 1000) / rateHz;
  }
  return out.subarray(0, n);
}

function sum(input: ScoreInput, segments: readonly SegmentScore[]): SegmentScore {
  const keys = Object.keys(emptyCounts) as (keyof Counts)[];
  const counts = Object.fromEntries(keys.map(key => [key, addNullable(segments.map(s => s.counts[key]))]));
  const errors = new Float64Array(segments.reduce((n, s) => n + s.intervalErrorsMs.length, 0));
  let at = 0;
  for (const s of segments) {
    errors.set(s.intervalErrorsMs, at);
    at += s.intervalErrorsMs.length;
  }
  const start = segments[0]?.segment.start ?? (0 as Segment['start']);
  const end = segments.at(-1)?.segment.end ?? (0 as Segment['end']);
  return {
    segment: { name: input.segments.length === 1 ? input.segments[0]!.name : 'all segments', start, end },
    counts: counts as unknown as Counts,
    lostStretches: segments.flatMap(s => s.lostStretches),
    intervalErrorsMs: errors,
  };
}

function addNullable(values: readonly (number | null)[]): number | null {
  return values.reduce<number | null>((total, v) => (total === null || v === null ? null : total + v), 0);
}

const emptyCounts: Counts = {
  beats: 0,
  marks: 0,
  onPeak: 0,
  refined: 0,
  missed: 0,
  wrongPeak: 0,
  extra: 0,
  offPeakMarks: 0,
  judged: 0,
  right: 0,
  wrongByMissed: 0,
  wrongByWrongPeak: 0,
  wrongByExtra: 0,
  lost: 0,
  lostUnreadable: 0,
  lostNoSignal: 0,
  ownIntervals: 0,
  ownRight: 0,
  seconds: 0,
  unreadableSeconds: 0,
  noSignalSeconds: 0,
};
