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
  const found: Found = { input, matching, fates, judged, excluded, marked: subtract(input.unreadable, input.gaps) };
  // One array for the errors of all segments, each after the one before, is those of the total as well.
  const errorsMs = new Float64Array(input.segments.reduce((n, s) => n + beatsIn(matching, s), 0));
  let used = 0;
  const segments = input.segments.map(s => {
    const score = scoreSegment(found, s, errorsMs.subarray(used));
    used += score.intervalErrorsMs.length;
    return score;
  });
  return { input, matching, fates, segments, total: sum(input, segments, errorsMs.subarray(0, used)) };
}

interface Found {
  readonly input: ScoreInput;
  readonly matching: Matching;
  readonly fates: Uint8Array;
  readonly judged: Int32Array;
  readonly excluded: readonly Span[];
  readonly marked: readonly Span[];
}

function beatsIn({ beats }: Matching, segment: Segment): number {
  return Math.max(0, lowerBound(beats, segment.end) - lowerBound(beats, segment.start));
}

function scoreSegment(found: Found, segment: Segment, errorsMs: Float64Array): SegmentScore {
  const { input, matching, judged, excluded, marked } = found;
  const stretches = lostStretches(matching, judged, segment, excluded, input.gaps);
  const unreadable = intersect(marked, [segment]);
  const ofBeats = countBeats(found, segment, errorsMs);
  const counts: Counts = {
    ...countMarks(found, segment),
    ...ofBeats,
    lost: addUp(stretches),
    lostUnreadable: addUp(stretches.filter(s => s.kind === 'unreadable')),
    lostNoSignal: addUp(stretches.filter(s => s.kind === 'no signal')),
    seconds: (segment.end - segment.start) / input.samplingRateHz,
    unreadableSeconds: totalLength(unreadable) / input.samplingRateHz,
    noSignalSeconds: totalLength(intersect(input.gaps, [segment])) / input.samplingRateHz,
  };
  return { segment, counts, lostStretches: stretches, intervalErrorsMs: errorsMs.subarray(0, ofBeats.right) };
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
  const hi = lowerBound(marks, segment.end);
  let extra = 0;
  let offPeak = 0;
  let ownIntervals = 0;
  let ownRight = 0;
  let s = 0;
  let from: number = excluded[0]?.start ?? Number.POSITIVE_INFINITY;
  let to: number = excluded[0]?.end ?? Number.POSITIVE_INFINITY;
  for (let j = lo; j < hi; j++) {
    const k = beatOfMark[j]!;
    if (k === -1) extra++;
    else if (outcome[k] !== onPeak) offPeak++;
    if (j + 1 === hi) break;
    const mark = marks[j]!;
    while (to <= mark) {
      s++;
      from = excluded[s]?.start ?? Number.POSITIVE_INFINITY;
      to = excluded[s]?.end ?? Number.POSITIVE_INFINITY;
    }
    if (from < marks[j + 1]!) continue;
    ownIntervals++;
    if (k !== -1 && beatOfMark[j + 1] === k + 1 && fates[k] === right) ownRight++;
  }
  return { marks: Math.max(0, hi - lo), extra, offPeakMarks: extra + offPeak, ownIntervals, ownRight };
}

/** Beats, and the intervals between them; the errors of the right intervals go into `errorsMs`, from its start. */
function countBeats({ input, matching, fates }: Found, segment: Segment, errorsMs: Float64Array) {
  const { beats, marks, markOfBeat, outcome } = matching;
  const { samplingRateHz } = input;
  const lo = lowerBound(beats, segment.start);
  const hi = Math.max(lo, lowerBound(beats, segment.end));
  const { missed: isMissed, onPeak: isOnPeak } = BeatOutcome;
  const { right: isRight } = IntervalFate;
  const wrong = new Int32Array(5);
  let onPeak = 0;
  let missed = 0;
  let refined = 0;
  let right = 0;
  // How far the mark lies after its beat: the error of a right interval is the difference of two of these.
  let before = 0;
  for (let k = lo; k < hi; k++) {
    const met = outcome[k]!;
    let late = 0;
    if (met === isMissed) missed++;
    else late = marks[markOfBeat[k]!]! - beats[k]!;
    if (met === isOnPeak) {
      onPeak++;
      if (late !== 0) refined++;
    }
    if (k > lo) {
      const fate = fates[k - 1]!;
      if (fate === isRight) errorsMs[right++] = ((late - before) * 1000) / samplingRateHz;
      else wrong[fate]!++;
    }
    before = late;
  }
  const wrongPeak = hi - lo - onPeak - missed;
  const [, , wrongByMissed = 0, wrongByWrongPeak = 0, wrongByExtra = 0] = wrong;
  const judged = right + wrongByMissed + wrongByWrongPeak + wrongByExtra;
  const beatCounts = { beats: hi - lo, onPeak, refined, missed, wrongPeak };
  return { ...beatCounts, judged, right, wrongByMissed, wrongByWrongPeak, wrongByExtra };
}

function sum(input: ScoreInput, segments: readonly SegmentScore[], intervalErrorsMs: Float64Array): SegmentScore {
  const keys = Object.keys(emptyCounts) as (keyof Counts)[];
  const counts = Object.fromEntries(keys.map(key => [key, addNullable(segments.map(s => s.counts[key]))]));
  const start = segments[0]?.segment.start ?? (0 as Segment['start']);
  const end = segments.at(-1)?.segment.end ?? (0 as Segment['end']);
  return {
    segment: { name: input.segments.length === 1 ? input.segments[0]!.name : 'all segments', start, end },
    counts: counts as unknown as Counts,
    lostStretches: segments.flatMap(s => s.lostStretches),
    intervalErrorsMs,
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
