import { between, lowerBound, type Marks, noMarks } from '../marks/markset';
import { outside } from '../marks/match';
import { firstEndingAfter, normalise, union } from '../marks/spans';
import type { Segment } from '../recording/recording';
import type { Span } from '../units';

/** Intervals between consecutive beats of one segment that may enter heart rate and HRV, and how many may not. */
export interface NnSeries {
  /** Time of the beat that ends each interval, in s from the recording's start. */
  readonly timesSeconds: Float64Array;
  readonly intervalsMs: Float64Array;
  /** 1 where the interval before ends at the beat at which this one starts; 0 at the start and after a break. */
  readonly adjacent: Uint8Array;
  /** Left out because an unreadable span or a gap lies between the beats. */
  readonly leftOutUnreadable: number;
  /** Left out because one of the beats is not a sinus beat. */
  readonly leftOutNonSinus: number;
}

export interface NnSource {
  readonly beats: Marks;
  readonly excluded: readonly Span[];
  /** Beats (positions as in `beats`) that are not sinus beats. */
  readonly nonSinus: Marks;
  readonly samplingRateHz: number;
}

/** NN intervals with both beats inside the segment, in time order. */
export function nnIntervals(source: NnSource, segment: Span): NnSeries {
  const spans = normalise(source.excluded);
  const beats = outside(between(source.beats, segment.start, segment.end), spans);
  const size = Math.max(0, beats.length - 1);
  const timesSeconds = new Float64Array(size);
  const intervalsMs = new Float64Array(size);
  const adjacent = new Uint8Array(size);
  const sinus = sinusFlags(beats, source.nonSinus);
  const { samplingRateHz } = source;
  let n = 0;
  let leftOutUnreadable = 0;
  let leftOutNonSinus = 0;
  let follows = 0;
  let s = firstEndingAfter(spans, segment.start);
  let span = spans[s];
  let beat = beats[0] ?? 0;
  for (let k = 0; k < size; k++) {
    const next = beats[k + 1]!;
    while (span && span.end <= beat) span = spans[++s];
    if (span && span.start < next) {
      leftOutUnreadable++;
      follows = 0;
    } else if (sinus && (sinus[k] === 0 || sinus[k + 1] === 0)) {
      leftOutNonSinus++;
      follows = 0;
    } else {
      timesSeconds[n] = next / samplingRateHz;
      intervalsMs[n] = ((next - beat) * 1000) / samplingRateHz;
      adjacent[n++] = follows;
      follows = 1;
    }
    beat = next;
  }
  return {
    timesSeconds: timesSeconds.subarray(0, n),
    intervalsMs: intervalsMs.subarray(0, n),
    adjacent: adjacent.subarray(0, n),
    leftOutUnreadable,
    leftOutNonSinus,
  };
}

/** 0 where a beat is not a sinus beat; null where all are. */
function sinusFlags(beats: Marks, nonSinus: Marks): Uint8Array | null {
  if (nonSinus.length === 0) return null;
  const flags = new Uint8Array(beats.length).fill(1);
  for (const sample of beats.length > 0 ? between(nonSinus, beats[0]!, beats.at(-1)! + 1) : noMarks) {
    const k = lowerBound(beats, sample);
    if (beats[k] === sample) flags[k] = 0;
  }
  return flags;
}

/** What one segment is computed from, three times over, so that the effect of the mistakes can be seen. */
export interface NnInputs {
  /** The recorder's marks as they are; only stretches without signal are left out. */
  readonly detected: NnSeries;
  /** Reviewed beats outside unreadable spans. */
  readonly reviewed: NnSeries;
  /** The same without the intervals that touch a non-sinus beat. */
  readonly reviewedSinus: NnSeries;
}

export interface NnMarks {
  readonly detected: Marks;
  readonly reviewed: Marks;
  readonly nonSinus: Marks;
  readonly unreadable: readonly Span[];
  readonly gaps: readonly Span[];
  readonly samplingRateHz: number;
}

export function nnInputs(marks: NnMarks, segment: Segment): NnInputs {
  const { samplingRateHz, nonSinus, gaps } = marks;
  const excluded = union(marks.unreadable, gaps);
  const reviewed = { beats: marks.reviewed, excluded, nonSinus: noMarks, samplingRateHz };
  return {
    detected: nnIntervals({ beats: marks.detected, excluded: gaps, nonSinus: noMarks, samplingRateHz }, segment),
    reviewed: nnIntervals(reviewed, segment),
    reviewedSinus: nnIntervals({ ...reviewed, nonSinus }, segment),
  };
}

/** A series from consecutive intervals in ms, the first beat at 0 s: for RR lists and simulated tachograms. */
export function nnSeriesOf(intervals: ArrayLike<number>): NnSeries {
  const intervalsMs = Float64Array.from(intervals);
  let time = 0;
  return {
    timesSeconds: intervalsMs.map(rr => (time += rr / 1000)),
    intervalsMs,
    adjacent: Uint8Array.from(intervalsMs, (_, i) => (i > 0 ? 1 : 0)),
    leftOutUnreadable: 0,
    leftOutNonSinus: 0,
  };
}

/** Successive differences in ms, only across intervals that share a beat. */
export function successiveDifferences(series: NnSeries): Float64Array {
  const { intervalsMs, adjacent } = series;
  const out = new Float64Array(intervalsMs.length);
  let n = 0;
  for (let i = 1; i < intervalsMs.length; i++) if (adjacent[i] === 1) out[n++] = intervalsMs[i]! - intervalsMs[i - 1]!;
  return out.subarray(0, n);
}

/** Time covered by the intervals, in s. */
export function readableSeconds({ intervalsMs }: NnSeries): number {
  let sum = 0;
  for (let i = 0; i < intervalsMs.length; i++) sum += intervalsMs[i]!;
  return sum / 1000;
}
