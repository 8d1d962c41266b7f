import { between, lowerBound, type Marks } from '../marks/markset';
import { BeatOutcome, type Matching, type MatchSettings, match } from '../marks/match';
import { rematch } from '../marks/rematch';
import { firstEndingAfter, lengthWithin, normalise, subtract, union } from '../marks/spans';
import { joined } from '../moments';
import type { Segment } from '../recording/recording';
import type { Span } from '../units';
import { errorRuns } from './error-runs';
import { IntervalOutcome, type IntervalOutcomes, intervalOutcomes } from './intervals';
import { type LostStretch, lostStretches } from './lost';
import type { Computed, Interval } from './result';

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

/** Whether there are intervals to count: known to be right or not, or lost. */
export function hasIntervals({ judged, lost }: Pick<Counts, 'judged' | 'lost'>): boolean {
  return lost !== null && judged + lost > 0;
}

export interface SegmentScore {
  readonly segment: Segment;
  readonly counts: Counts;
  readonly lostStretches: readonly LostStretch[];
  /** Errors of the right intervals in ms: (mark interval) - (beat interval). Worked out again whenever asked for. */
  readonly intervalErrorsMs: () => Float64Array;
  /** Lengths of the runs of wrong and lost intervals, one after the other. */
  readonly errorRuns: () => readonly number[];
  /** Why none of its numbers is given, where that is so: its counts are then no result. */
  readonly withheld?: string;
  /** Quality from a sample, in the place of that of the counts, which are then those of what was looked at. */
  readonly estimate?: QualityEstimate;
}

/** Quality in percent with its 95 % interval; null with the quality. */
export interface QualityEstimate {
  readonly quality: Computed;
  readonly interval95: Interval | null;
}

export interface RecordingScore {
  readonly input: ScoreInput;
  readonly matching: Matching;
  readonly outcomes: Uint8Array;
  readonly segments: readonly SegmentScore[];
  readonly total: SegmentScore;
  /** The score of a segment over pieces of it alone: what lies between the pieces is left out. Pieces are normalised. */
  readonly within: (segment: Segment, pieces: readonly Span[]) => SegmentScore;
}

/**
 * Scores one recording: definitions in the design of RR-interval quality (README, "How it counts"). The score of the same
 * recording as it stood `before` spares most of the matching, where rate and settings are the same.
 */
export function scoreRecording(input: ScoreInput, before: RecordingScore | null = null): RecordingScore {
  const { beats, marks, samplingRateHz, settings } = input;
  const excluded = union(input.unreadable, input.gaps);
  const alike = before?.input.samplingRateHz === samplingRateHz && before.input.settings === settings;
  const matching = alike
    ? rematch(before.matching, beats, marks, excluded, input)
    : match(beats, marks, excluded, samplingRateHz, settings);
  const { outcomes, notRight, marksNotRight } = intervalOutcomes(matching, excluded);
  const gaps = normalise(input.gaps);
  const marked = subtract(input.unreadable, gaps);
  const found: Found = { input, matching, outcomes, notRight, marksNotRight, excluded, gaps, marked };
  const segments = input.segments.map(s => scoreSegment(found, s));
  const total = addUpScores(wholeOf(input.segments), segments);
  const within = (segment: Segment, pieces: readonly Span[]) => scorePieces(found, segment, pieces);
  return { input, matching, outcomes, segments, total, within };
}

/** The stretch and name that all segments have together. */
export function wholeOf(segments: readonly Segment[]): Segment {
  const start = segments[0]?.start ?? (0 as Segment['start']);
  const end = segments.at(-1)?.end ?? (0 as Segment['end']);
  return { name: segments.length === 1 ? segments[0]!.name : 'all segments', start, end };
}

interface Found extends IntervalOutcomes {
  readonly input: ScoreInput;
  readonly matching: Matching;
  /** Normalised, as are the two below: unreadable or without signal. */
  readonly excluded: readonly Span[];
  readonly gaps: readonly Span[];
  /** Marked unreadable, where there is a signal. */
  readonly marked: readonly Span[];
}

function scoreSegment(found: Found, segment: Segment): SegmentScore {
  const { input, matching, outcomes, excluded, gaps, marked } = found;
  const stretches = lostStretches(matching, outcomes, input.segments, segment, excluded, gaps);
  const marksHere = countMarks(found, segment);
  const beatsHere = countBeats(found, segment);
  // Name by name: spreading the two costs several times as much, and a review may have thousands of pieces.
  const counts: Counts = {
    beats: beatsHere.beats,
    marks: marksHere.marks,
    onPeak: beatsHere.onPeak,
    refined: beatsHere.refined,
    missed: beatsHere.missed,
    wrongPeak: beatsHere.wrongPeak,
    extra: marksHere.extra,
    offPeakMarks: marksHere.offPeakMarks,
    judged: beatsHere.judged,
    right: beatsHere.right,
    wrongByMissed: beatsHere.wrongByMissed,
    wrongByWrongPeak: beatsHere.wrongByWrongPeak,
    wrongByExtra: beatsHere.wrongByExtra,
    ownIntervals: marksHere.ownIntervals,
    ownRight: marksHere.ownRight,
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
    intervalErrorsMs: () => intervalErrorsMs(found, segment),
    errorRuns: () => errorRuns(matching.beats, wrongIntervals(found, segment), stretches),
  };
}

/** Pieces are many where marks were seen and not accepted: then most hold nothing but time. */
function scorePieces(found: Found, segment: Segment, pieces: readonly Span[]): SegmentScore {
  const counts: MutableCounts = { ...emptyCounts };
  const parts: SegmentScore[] = [];
  const holds = holding(found, pieces[0]?.start ?? 0);
  for (const piece of pieces) {
    if (!holds(piece)) {
      counts.seconds! += (piece.end - piece.start) / found.input.samplingRateHz;
      continue;
    }
    const part = scoreSegment(found, { ...piece, name: segment.name });
    addCounts(counts, part.counts);
    parts.push(part);
  }
  return together(segment, counts, parts);
}

/** Whether a piece holds a beat, a mark or something excluded; to be asked in order of time, from `start` on. */
function holding({ matching: { beats, marks }, excluded }: Found, start: number): (piece: Span) => boolean {
  let beat = lowerBound(beats, start);
  let mark = lowerBound(marks, start);
  let span = firstEndingAfter(excluded, start);
  return piece => {
    while (beat < beats.length && beats[beat]! < piece.start) beat++;
    while (mark < marks.length && marks[mark]! < piece.start) mark++;
    while (span < excluded.length && excluded[span]!.end <= piece.start) span++;
    const next = Math.min(beats[beat] ?? piece.end, marks[mark] ?? piece.end, excluded[span]?.start ?? piece.end);
    return next < piece.end;
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

// Marks and intervals are right but for some: those are listed, so that an edit costs what is wrong, not what is there.

/** Marks, and the recorder's own intervals: consecutive marks in the segment with nothing unreadable between them. */
function countMarks({ matching, outcomes, excluded, marksNotRight }: Found, segment: Segment) {
  const { marks, beatOfMark, marksOffPeak } = matching;
  const [lo, hi] = indicesIn(marks, segment);
  const offPeak = between(marksOffPeak, lo, hi);
  let extra = 0;
  for (const j of offPeak) if (beatOfMark[j] === -1) extra++;
  // Every mark is taken for the start of an own interval: all but the last one before a span or the segment's end are.
  let ownIntervals = hi - lo;
  let ownRight = hi - lo - between(marksNotRight, lo, hi).length;
  let last = lo;
  const end = (after: number) => {
    if (after === last) return;
    last = after;
    const k = beatOfMark[after - 1]!;
    ownIntervals--;
    if (k !== -1 && outcomes[k] === IntervalOutcome.right) ownRight--;
  };
  for (let s = firstEndingAfter(excluded, segment.start); s < excluded.length && excluded[s]!.start < segment.end; s++)
    end(Math.max(lo, lowerBound(marks, excluded[s]!.start)));
  end(hi);
  return { marks: hi - lo, extra, offPeakMarks: offPeak.length, ownIntervals, ownRight };
}

/** Beats, and the intervals between them. */
function countBeats({ matching, outcomes, notRight }: Found, segment: Segment) {
  const { outcome, moved, beatsOffPeak } = matching;
  const [lo, hi] = indicesIn(matching.beats, segment);
  const offPeak = between(beatsOffPeak, lo, hi);
  let missed = 0;
  for (const k of offPeak) if (outcome[k] === BeatOutcome.missed) missed++;
  let refined = 0;
  for (let k = lo; k < hi; k++) refined += moved[k]!;
  const wrong = between(notRight, lo, hi - 1);
  const by = new Int32Array(5);
  for (const k of wrong) by[outcomes[k]!]!++;
  const right = Math.max(0, hi - lo - 1) - wrong.length;
  const judged = right + wrong.length - by[IntervalOutcome.across]!;
  return {
    beats: hi - lo,
    onPeak: hi - lo - offPeak.length,
    refined,
    missed,
    wrongPeak: offPeak.length - missed,
    judged,
    right,
    wrongByMissed: by[IntervalOutcome.missed]!,
    wrongByWrongPeak: by[IntervalOutcome.wrongPeak]!,
    wrongByExtra: by[IntervalOutcome.extra]!,
  };
}

/** First beats of the wrong intervals of a segment. */
function wrongIntervals({ matching, outcomes, notRight }: Found, segment: Segment): Int32Array {
  const [lo, hi] = indicesIn(matching.beats, segment);
  return between(notRight, lo, hi - 1).filter(k => outcomes[k] !== IntervalOutcome.across);
}

/** Errors of the right intervals of a segment, in ms. */
function intervalErrorsMs({ input, matching, outcomes }: Found, segment: Segment): Float64Array {
  const { beats, marks, markOfBeat } = matching;
  const late = (k: number) => marks[markOfBeat[k]!]! - beats[k]!;
  const [lo, hi] = indicesIn(beats, segment);
  const out = new Float64Array(hi - lo);
  let n = 0;
  for (let k = lo; k < hi - 1; k++) {
    if (outcomes[k] === IntervalOutcome.right) out[n++] = ((late(k + 1) - late(k)) * 1000) / input.samplingRateHz;
  }
  return out.subarray(0, n);
}

/** The half-open range of indices of the marks or beats in a segment. */
function indicesIn(marks: Marks, segment: Segment): [number, number] {
  const lo = lowerBound(marks, segment.start);
  return [lo, Math.max(lo, lowerBound(marks, segment.end))];
}

/** Several scores of one recording as one, under the name and in the place of `segment`. */
export function addUpScores(segment: Segment, parts: readonly SegmentScore[]): SegmentScore {
  const counts: MutableCounts = { ...emptyCounts };
  for (const part of parts) addCounts(counts, part.counts);
  return together(segment, counts, parts);
}

function together(segment: Segment, counts: MutableCounts, parts: readonly SegmentScore[]): SegmentScore {
  return {
    segment,
    counts: counts as Counts,
    lostStretches: parts.flatMap(s => s.lostStretches),
    intervalErrorsMs: () => joined(parts.map(s => s.intervalErrorsMs())),
    errorRuns: () => parts.flatMap(s => s.errorRuns()),
  };
}

type MutableCounts = Record<keyof Counts, number | null>;

/** Null stays null: what one part cannot count, the sum cannot. */
function addCounts(sum: MutableCounts, more: Counts): void {
  for (const key of countKeys) {
    const total = sum[key];
    const own = more[key];
    sum[key] = total === null || own === null ? null : total + own;
  }
}

export const emptyCounts: Counts = {
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

const countKeys = Object.keys(emptyCounts) as (keyof Counts)[];
