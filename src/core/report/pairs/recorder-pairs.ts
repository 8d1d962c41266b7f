import { alignClocks, type ClockAlignment, type ClockFit } from '../../agreement/clock';
import { nnIntervals } from '../../hrv/nn';
import { noMarks } from '../../marks/markset';
import { outside } from '../../marks/match';
import { union } from '../../marks/spans';
import { medianSize } from '../../moments';
import { wholeSegment } from '../../recording/recording';
import type { SessionRecording } from '../../review/session';
import { segmentsUnderReview } from '../../review/standing/coverage';
import type { Span } from '../../units';
import type { CountedReview } from '../counted-review';
import { driftError, noError } from './clock-doubts';
import { pairedHeartRate, pairedIntervals, pairedRmssd } from './paired-measures';
import type { AgreementCell } from './recorder-agreement';

/** One recorder's clock read on another's: seconds there = offset + (1 + drift) x seconds here, each from its own start. */
export interface AppliedClock {
  readonly offsetSeconds: number;
  readonly driftPpm: number;
  /** How it came about: 'start times', 'matched beats' or 'by hand'. */
  readonly from: string;
}

/** What a report needs of a clock that was found; the pairs of beats it was found by are many and are not kept. */
export type FoundClock =
  | Pick<ClockFit, 'found' | 'offsetSeconds' | 'driftPpm'>
  | Extract<ClockAlignment, { found: false }>;

export type SessionClocks = Readonly<Record<string, AppliedClock>>;

export interface ClockFacts {
  readonly session: string;
  readonly volunteer: string;
  readonly first: string;
  readonly second: string;
  /** Null with a reason when the beats of the two recorders do not fit one line. */
  readonly clock: AppliedClock | null;
  readonly reason: string | null;
  /** Beats within 50 ms of the line, and the robust SD of what is left, in ms. */
  readonly pairs: number;
  readonly residualSdMs: number | null;
  /** Half the 95 % interval of a found drift, in ppm, residuals taken as independent; null of a clock that was given. */
  readonly driftErrorPpm: number | null;
  /** What that adds up to at the end of the recording that is farthest from the middle of the beats, in ms. */
  readonly endErrorMs: number | null;
}

/** Reviewed beats a recorder's clock can be told by, in s from the recording's start. */
function beatTimes(item: SessionRecording, counted: Pick<CountedReview, 'recordings'>): Float64Array {
  const review = counted.recordings.get(item.recording.id)!;
  const beats = outside(review.marks, union(review.unreadable, item.recording.gaps));
  const { samplingRateHz } = item.recording;
  const times = new Float64Array(beats.length);
  for (let i = 0; i < times.length; i++) times[i] = beats[i]! / samplingRateHz;
  return times;
}

/**
 * The clock of the session's second recorder on that of the first. One that is given (found before, or set by hand) is
 * taken as it is; `residuals` says how well it fits.
 */
export function clockOf(
  counted: Pick<CountedReview, 'recordings' | 'session'>,
  a: SessionRecording,
  b: SessionRecording,
  given?: AppliedClock,
  align: (timesA: Float64Array, timesB: Float64Array) => FoundClock = alignClocks,
): ClockFacts {
  const { session } = counted;
  const head = {
    session: session.id,
    volunteer: session.participant,
    first: a.recording.recorder,
    second: b.recording.recorder,
  };
  const timesA = beatTimes(a, counted);
  const timesB = beatTimes(b, counted);
  const fit = given ? null : align(timesA, timesB);
  if (fit && !fit.found) return { ...head, clock: null, reason: fit.reason, pairs: 0, ...noResiduals };
  const clock = given ?? { offsetSeconds: fit!.offsetSeconds, driftPpm: fit!.driftPpm, from: 'matched beats' };
  const { secondsA, residualsMs } = clockResiduals(timesA, timesB, clock);
  const facts = { ...head, clock, reason: null, pairs: residualsMs.length };
  if (residualsMs.length === 0) return { ...facts, ...noResiduals };
  const residualSdMs = 1.4826 * medianSize(residualsMs);
  const end = a.recording.sampleCount / a.recording.samplingRateHz;
  const error = given ? noError : driftError(secondsA, residualSdMs, end);
  return { ...facts, residualSdMs, ...error };
}

const noResiduals = { residualSdMs: null, ...noError };

/** B less the line, in ms, for each beat of A with one of B within 50 ms of the line; in the order of A. */
export function clockResiduals(
  timesA: Float64Array,
  timesB: Float64Array,
  clock: Pick<AppliedClock, 'offsetSeconds' | 'driftPpm'>,
): { secondsA: Float64Array; residualsMs: Float64Array } {
  const secondsA = new Float64Array(timesA.length);
  const residualsMs = new Float64Array(timesA.length);
  let n = 0;
  for (let i = 0, j = 0; i < timesA.length && j < timesB.length; i++) {
    const line = clock.offsetSeconds + (1 + clock.driftPpm * 1e-6) * timesA[i]!;
    while (j + 1 < timesB.length && Math.abs(timesB[j + 1]! - line) <= Math.abs(timesB[j]! - line)) j++;
    const apart = 1000 * (timesB[j]! - line);
    if (Math.abs(apart) > 50) continue;
    secondsA[n] = timesA[i]!;
    residualsMs[n++] = apart;
  }
  return { secondsA: secondsA.subarray(0, n), residualsMs: residualsMs.subarray(0, n) };
}

/**
 * Paired values of two recorders, for each activity of the first: what the recorders themselves detected, outside
 * stretches that the review calls unreadable; an interval counts where both have both of its beats.
 */
export function agreementCells(
  counted: CountedReview,
  a: SessionRecording,
  b: SessionRecording,
  clock: AppliedClock,
): AgreementCell[] {
  const series = (item: SessionRecording, segment: Span) => {
    const { gaps, samplingRateHz } = item.recording;
    const excluded = union(counted.recordings.get(item.recording.id)!.unreadable, gaps);
    return nnIntervals({ beats: item.detected, excluded, nonSinus: noMarks, samplingRateHz }, segment);
  };
  const reviewedIn = (item: SessionRecording, segment: Span) => {
    const { marks, unreadable } = counted.recordings.get(item.recording.id)!;
    const { gaps, samplingRateHz } = item.recording;
    const source = { beats: marks, excluded: union(unreadable, gaps), nonSinus: noMarks, samplingRateHz };
    return nnIntervals(source, segment).intervalsMs.length;
  };
  const ofB = series(b, wholeSegment(b.recording));
  return segmentsUnderReview(a).flatMap(segment => {
    const pairs = pairedIntervals(series(a, segment), ofB, clock);
    const startSeconds = segment.start / a.recording.samplingRateHz;
    const head = { volunteer: counted.session.participant, activity: segment.name };
    return [
      { ...head, measure: 'rr' as const, a: pairs.aMs, b: pairs.bMs, reviewedIntervals: reviewedIn(a, segment) },
      { ...head, measure: 'heartRate' as const, ...pairedHeartRate(pairs, startSeconds) },
      { ...head, measure: 'rmssd' as const, ...pairedRmssd(pairs) },
    ];
  });
}
