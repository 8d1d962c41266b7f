import type { ClockFit } from '../../agreement/clock';
import { toClockA } from '../../agreement/clock';
import { type NnSeries, nnIntervals } from '../../hrv/nn';
import { rmssd } from '../../hrv/time-domain';
import { noMarks } from '../../marks/markset';
import { union } from '../../marks/spans';
import { wholeSegment } from '../../recording/recording';
import type { SessionRecording } from '../../review/session';
import { segmentsUnderReview } from '../../review/standing/coverage';
import type { Span } from '../../units';
import type { CountedReview } from '../counted-review';

/** What recorders are compared by with their mistakes included, in the order of the tables. */
export const detectedMeasures = {
  heartRate: { label: 'heart rate per minute', unit: 'bpm', places: 2 },
  rr: { label: 'RR interval', unit: 'ms', places: 1 },
  rmssd: { label: 'RMSSD per segment', unit: 'ms', places: 1 },
  lnRmssd: { label: 'ln RMSSD per segment', unit: 'ln ms', places: 3 },
} as const;
export type DetectedMeasure = keyof typeof detectedMeasures;

/** Values of one volunteer in one activity: `a` by the recorder as detected, `b` by what it is compared with. */
export interface DetectedCell {
  readonly volunteer: string;
  readonly activity: string;
  readonly measure: DetectedMeasure;
  /** By occasion (minute of the segment, or the segment as one); NaN where a side has no value. Of RR, by interval. */
  readonly a: Float64Array;
  readonly b: Float64Array;
}

type Clock = Pick<ClockFit, 'offsetSeconds' | 'driftPpm'>;
const sameClock: Clock = { offsetSeconds: 0, driftPpm: 0 };

/** One side of a comparison: the intervals of the whole recording, on its own clock. */
interface Side {
  readonly series: NnSeries;
  readonly clock: Clock;
}

/** A recorder's marks as they are: only stretches without signal are left out. */
function asDetected(item: SessionRecording): NnSeries {
  const { gaps, samplingRateHz } = item.recording;
  const source = { beats: item.detected, excluded: gaps, nonSinus: noMarks, samplingRateHz };
  return nnIntervals(source, wholeSegment(item.recording));
}

function asReviewed(item: SessionRecording, counted: Pick<CountedReview, 'recordings'>): NnSeries {
  const { gaps, samplingRateHz } = item.recording;
  const review = counted.recordings.get(item.recording.id)!;
  const source = {
    beats: review.marks,
    excluded: union(review.unreadable, gaps),
    nonSinus: noMarks,
    samplingRateHz,
  };
  return nnIntervals(source, wholeSegment(item.recording));
}

/** A recorder as detected against the reviewed beats of the same recording, for each activity. */
export function cellsAgainstReference(
  counted: Pick<CountedReview, 'recordings' | 'session'>,
  item: SessionRecording,
): DetectedCell[] {
  const detected = { series: asDetected(item), clock: sameClock };
  const reviewed = { series: asReviewed(item, counted), clock: sameClock };
  return cells(counted.session.participant, item, detected, reviewed);
}

/** Two recorders as detected, the second read on the clock of the first, for each activity of the first. */
export function cellsOfPair(
  counted: Pick<CountedReview, 'session'>,
  first: SessionRecording,
  second: SessionRecording,
  clock: Clock,
): DetectedCell[] {
  const a = { series: asDetected(first), clock: sameClock };
  const b = { series: asDetected(second), clock };
  return cells(counted.session.participant, first, a, b);
}

function cells(volunteer: string, item: SessionRecording, a: Side, b: Side): DetectedCell[] {
  return segmentsUnderReview(item).flatMap(segment => {
    const seconds = secondsOf(segment, item.recording.samplingRateHz);
    const ofA = within(a, seconds);
    const ofB = within(b, seconds);
    const head = { volunteer, activity: segment.name };
    const x = rmssd(ofA).value ?? Number.NaN;
    const y = rmssd(ofB).value ?? Number.NaN;
    return [
      { ...head, measure: 'heartRate' as const, a: perMinute(ofA, seconds), b: perMinute(ofB, seconds) },
      { ...head, measure: 'rr' as const, ...rrAtTheSameTime(ofA, ofB) },
      { ...head, measure: 'rmssd' as const, a: Float64Array.of(x), b: Float64Array.of(y) },
      // No variation at all has no logarithm.
      { ...head, measure: 'lnRmssd' as const, a: Float64Array.of(ln(x)), b: Float64Array.of(ln(y)) },
    ];
  });
}

const ln = (v: number) => (v > 0 ? Math.log(v) : Number.NaN);

interface Seconds {
  readonly start: number;
  readonly end: number;
}

const secondsOf = ({ start, end }: Span, rateHz: number): Seconds => ({ start: start / rateHz, end: end / rateHz });

/** The intervals that lie in a stretch of the first clock, their ends given on that clock. Lengths stay their own clock's. */
function within({ series, clock }: Side, { start, end }: Seconds): NnSeries {
  const { timesSeconds, intervalsMs } = series;
  // Intervals follow one another in time, so those inside are a run.
  const isAfter = (i: number) => toClockA(clock, timesSeconds[i]!) - intervalsMs[i]! / 1000 >= start - 1e-9;
  const from = firstWhere(timesSeconds.length, isAfter);
  const to = firstWhere(timesSeconds.length, i => toClockA(clock, timesSeconds[i]!) >= end);
  const times = timesSeconds.slice(from, to);
  for (let i = 0; i < times.length; i++) times[i] = toClockA(clock, times[i]!);
  return {
    ...series,
    timesSeconds: times,
    intervalsMs: intervalsMs.slice(from, to),
    adjacent: series.adjacent.slice(from, to),
  };
}

/** The first of `count` places that `holds`, which all after it do as well; `count` where none does. */
function firstWhere(count: number, holds: (i: number) => boolean): number {
  let [low, high] = [0, count];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (holds(middle)) high = middle;
    else low = middle + 1;
  }
  return low;
}

/** Mean heart rate of each minute, the last from half a one on, that is at least half covered: 60000 / mean RR of the intervals that end in it. */
function perMinute({ timesSeconds, intervalsMs }: NnSeries, { start, end }: Seconds): Float64Array {
  const minutes = Math.round((end - start) / 60);
  const counts = new Float64Array(minutes);
  const sums = new Float64Array(minutes);
  for (let i = 0; i < intervalsMs.length; i++) {
    const minute = Math.floor((timesSeconds[i]! - start) / 60);
    if (minute < 0 || minute >= minutes) continue;
    counts[minute]!++;
    sums[minute]! += intervalsMs[i]!;
  }
  return sums.map((sum, m) => (sum >= 30_000 ? (60_000 * counts[m]!) / sum : Number.NaN));
}

/**
 * For each interval of `b` the interval of `a` that is under way in its middle: with a missed beat, the long one; with an
 * extra mark, one of the short ones. NaN where `a` has none.
 */
function rrAtTheSameTime(a: NnSeries, b: NnSeries): { a: Float64Array; b: Float64Array } {
  const found = new Float64Array(b.intervalsMs.length);
  for (let j = 0, i = 0; j < found.length; j++) {
    const middle = b.timesSeconds[j]! - b.intervalsMs[j]! / 2000;
    while (i < a.timesSeconds.length && a.timesSeconds[i]! <= middle) i++;
    const underWay = i < a.timesSeconds.length && a.timesSeconds[i]! - a.intervalsMs[i]! / 1000 <= middle;
    found[j] = underWay ? a.intervalsMs[i]! : Number.NaN;
  }
  return { a: found, b: b.intervalsMs };
}
