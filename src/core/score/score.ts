import { lowerBound, type Marks } from '../marks/markset';
import { BeatOutcome, type Matching, type MatchSettings, match } from '../marks/match';
import { firstEndingAfter, lengthWithin, normalise, subtract, union } from '../marks/spans';
import type { Segment } from '../recording/recording';
import type { Span } from '../units';
import { IntervalFate, intervalFates } from './intervals';
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
  /** Errors of the right intervals in ms: (mark interval) - (beat interval). Worked out anew whenever asked for. */
  readonly intervalErrorsMs: () => Float64Array;
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
  const gaps = normalise(input.gaps);
  const marked = subtract(input.unreadable, gaps);
  const found: Found = { input, matching, fates, excluded, gaps, marked };
  const segments = input.segments.map(s => scoreSegment(found, s));
  return { input, matching, fates, segments, total: sum(found, segments) };
}

interface Found {
  readonly input: ScoreInput;
  readonly matching: Matching;
  readonly fates: Uint8Array;
  /** Normalised, as are the two below: unreadable or without signal. */
  readonly excluded: readonly Span[];
  readonly gaps: readonly Span[];
  /** Marked unreadable, where there is a signal. */
  readonly marked: readonly Span[];
}

function scoreSegment(found: Found, segment: Segment): SegmentScore {
  const { input, matching, fates, excluded, gaps, marked } = found;
  const stretches = lostStretches(matching, fates, input.segments, segment, excluded, gaps);
  const counts: Counts = {
    ...countMarks(found, segment),
    ...countBeats(found, segment),
    lost: addUp(stretches),
    lostUnreadable: addUp(stretches.filter(s => s.kind === 'unreadable')),
    lostNoSignal: addUp(stretches.filter(s => s.kind === 'no signal')),
    seconds: (segment.end - segment.start) / input.samplingRateHz,
    unreadableSeconds: lengthWithin(marked, segment) / input.samplingRateHz,
    noSignalSeconds: lengthWithin(gaps, segment) / input.samplingRateHz,
  };
  return {
    segment,
    counts,
    lostStretches: stretches,
    intervalErrorsMs: () => intervalErrorsMs(found, [segment]),
  };
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

/** Marks, and the recorder's own intervals: consecutive marks in the segment with nothing unreadable between them. */
function countMarks({ matching, fates, excluded }: Found, segment: Segment) {
  const { marks, beatOfMark, outcome } = matching;
  const { onPeak } = BeatOutcome;
  const { right } = IntervalFate;
  const lo = lowerBound(marks, segment.start);
  const hi = Math.max(lo, lowerBound(marks, segment.end));
  let extra = 0;
  let offPeak = 0;
  let ownIntervals = hi - lo;
  let ownRight = 0;
  for (let j = lo; j < hi; j++) {
    const k = beatOfMark[j]!;
    if (k === -1) extra++;
    // The marks of a right interval are neighbours: j and j + 1.
    else if (fates[k] === right) ownRight++;
    else if (outcome[k] !== onPeak) offPeak++;
  }
  // That took every mark for the start of an own interval: all but the last one before a span or the segment's end are.
  let last = lo;
  const end = (after: number) => {
    if (after === last) return;
    last = after;
    const k = beatOfMark[after - 1]!;
    ownIntervals--;
    if (k !== -1 && fates[k] === right) ownRight--;
  };
  for (let s = firstEndingAfter(excluded, segment.start); s < excluded.length && excluded[s]!.start < segment.end; s++)
    end(Math.max(lo, lowerBound(marks, excluded[s]!.start)));
  end(hi);
  return { marks: hi - lo, extra, offPeakMarks: extra + offPeak, ownIntervals, ownRight };
}

/** Beats, and the intervals between them. */
function countBeats({ matching, fates }: Found, segment: Segment) {
  const { beats, marks, markOfBeat, outcome } = matching;
  const { missed: isMissed, onPeak: isOnPeak } = BeatOutcome;
  const { right: isRight } = IntervalFate;
  const [lo, hi] = beatsIn(matching, segment);
  const wrong = new Int32Array(5);
  let onPeak = 0;
  let missed = 0;
  let refined = 0;
  let right = 0;
  for (let k = lo; k < hi; k++) {
    const met = outcome[k]!;
    if (met === isMissed) missed++;
    else if (met === isOnPeak) {
      onPeak++;
      if (marks[markOfBeat[k]!]! !== beats[k]!) refined++;
    }
    if (k + 1 === hi) break;
    const fate = fates[k]!;
    if (fate === isRight) right++;
    else wrong[fate]!++;
  }
  const wrongPeak = hi - lo - onPeak - missed;
  const [, , wrongByMissed = 0, wrongByWrongPeak = 0, wrongByExtra = 0] = wrong;
  const judged = right + wrongByMissed + wrongByWrongPeak + wrongByExtra;
  const beatCounts = { beats: hi - lo, onPeak, refined, missed, wrongPeak };
  return { ...beatCounts, judged, right, wrongByMissed, wrongByWrongPeak, wrongByExtra };
}

/** Errors of the right intervals of segment after segment, in ms. */
function intervalErrorsMs({ input, matching, fates }: Found, segments: readonly Segment[]): Float64Array {
  const { beats, marks, markOfBeat } = matching;
  const late = (k: number) => marks[markOfBeat[k]!]! - beats[k]!;
  const ranges = segments.map(s => beatsIn(matching, s));
  const out = new Float64Array(ranges.reduce((sum, [lo, hi]) => sum + hi - lo, 0));
  let n = 0;
  for (const [lo, hi] of ranges) {
    for (let k = lo; k < hi - 1; k++) {
      if (fates[k] === IntervalFate.right) out[n++] = ((late(k + 1) - late(k)) * 1000) / input.samplingRateHz;
    }
  }
  return out.subarray(0, n);
}

/** The half-open range of beats in a segment. */
function beatsIn({ beats }: Matching, segment: Segment): [number, number] {
  const lo = lowerBound(beats, segment.start);
  return [lo, Math.max(lo, lowerBound(beats, segment.end))];
}

function sum(found: Found, segments: readonly SegmentScore[]): SegmentScore {
  const parts = found.input.segments;
  const keys = Object.keys(emptyCounts) as (keyof Counts)[];
  const counts = Object.fromEntries(keys.map(key => [key, addNullable(segments.map(s => s.counts[key]))]));
  const start = segments[0]?.segment.start ?? (0 as Segment['start']);
  const end = segments.at(-1)?.segment.end ?? (0 as Segment['end']);
  return {
    segment: { name: parts.length === 1 ? parts[0]!.name : 'all segments', start, end },
    counts: counts as unknown as Counts,
    lostStretches: segments.flatMap(s => s.lostStretches),
    intervalErrorsMs: () => intervalErrorsMs(found, parts),
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
