import { lowerBound, type Marks } from '../../core/marks/markset';
import { firstEndingAfter } from '../../core/marks/spans';
import { Verdict } from '../../core/marks/verdicts';
import type { Span } from '../../core/units';
import { toMs } from '../../core/units';
import type { StripRecorder } from './model';

/** The interval from reviewed beat k to the next. */
export interface BeatInterval {
  /** ms; null where an unreadable stretch or a gap lies between the beats, so nothing is judged. */
  readonly rrMs: number | null;
  /** Whether the recorder's own marks give this interval: both beats on the peak, their marks neighbours. */
  readonly asDetected: boolean;
}

/** Beats per minute of an interval. Common practice: 60000 / RR in ms. */
export function rateBpm(rrMs: number): number {
  return 60000 / rrMs;
}

/** Bottom and top of a heart-rate line, bpm, in whole tens. */
export interface RateRange {
  readonly low: number;
  readonly high: number;
}

/** Range that holds 96 of 100 rates with some air, from at most 2000 intervals; outliers run to the edge. */
export function rateRange(reviewed: Marks, samplingRateHz: number): RateRange {
  const stride = Math.max(1, Math.floor(reviewed.length / 2000));
  const rates: number[] = [];
  for (let k = 0; k + 1 < reviewed.length; k += stride) {
    rates.push(rateBpm(toMs(reviewed[k + 1]! - reviewed[k]!, samplingRateHz)));
  }
  if (rates.length === 0) return { low: 40, high: 140 };
  rates.sort((a, b) => a - b);
  const at = (share: number) => rates[Math.floor(share * (rates.length - 1))]!;
  const low = Math.max(0, Math.floor(at(0.02) / 10 - 1) * 10);
  return { low, high: Math.max(low + 40, Math.ceil(at(0.98) / 10 + 1) * 10) };
}

/**
 * Whether a rate has room beside its interval on one line, at the fastest usual rate: the same in every row and on every
 * page, however few beats a row has.
 */
export function rateFitsBeside(pxPerSecond: number, { high }: RateRange, textScale: number): boolean {
  return (pxPerSecond * 60) / high > 72 * textScale;
}

type Judged = Pick<StripRecorder, 'reviewed' | 'detected' | 'verdicts' | 'unreadable' | 'gaps' | 'samplingRateHz'>;

/** Null for the last beat, which has no next. */
export function intervalAfter(recorder: Judged, k: number): BeatInterval | null {
  const { reviewed, verdicts } = recorder;
  const a = reviewed[k];
  const b = reviewed[k + 1];
  if (a === undefined || b === undefined) return null;
  if (meets(recorder.unreadable, a, b) || meets(recorder.gaps, a, b)) return { rrMs: null, asDetected: false };
  const asDetected =
    onPeak(verdicts.ofReviewed(k)) &&
    onPeak(verdicts.ofReviewed(k + 1)) &&
    verdicts.detectedOf(k + 1) - verdicts.detectedOf(k) === 1;
  return { rrMs: toMs(b - a, recorder.samplingRateHz), asDetected };
}

function onPeak(verdict: Verdict): boolean {
  return verdict === Verdict.kept || verdict === Verdict.refined;
}

/** Marks taken out and put in, samples; e.g. what a suggestion would do. */
export interface MarkChange {
  readonly removed: readonly number[];
  readonly added: readonly number[];
}

/** The intervals of the stretch that a change touches, as they are and as they would be. */
export interface ChangedIntervals {
  /** From the last mark before the change to the first after it, samples. */
  readonly start: number;
  readonly end: number;
  readonly beforeMs: readonly number[];
  readonly afterMs: readonly number[];
}

/** Null where no interval is judged there, now or then. */
export function changedIntervals(recorder: Judged, { removed, added }: MarkChange): ChangedIntervals | null {
  const { reviewed, samplingRateHz } = recorder;
  const places = [...removed, ...added];
  if (places.length === 0) return null;
  const first = Math.min(...places);
  const last = Math.max(...places);
  const from = Math.max(0, lowerBound(reviewed, first) - 1);
  const to = Math.min(reviewed.length, lowerBound(reviewed, last + 1) + 1);
  const before = [...reviewed.subarray(from, to)];
  const after = [...before.filter(m => !removed.includes(m)), ...added].sort((a, b) => a - b);
  const start = Math.min(before[0] ?? first, first);
  const end = Math.max(before.at(-1) ?? last, last);
  if (meets(recorder.unreadable, start, end) || meets(recorder.gaps, start, end)) return null;
  const between = (marks: readonly number[]) => marks.slice(1).map((m, i) => toMs(m - marks[i]!, samplingRateHz));
  const [beforeMs, afterMs] = [between(before), between(after)];
  return beforeMs.length > 0 && afterMs.length > 0 ? { start, end, beforeMs, afterMs } : null;
}

/** Whether an interval would be lost in a span. */
export function wouldBeLost(span: Span | null, a: number, b: number): boolean {
  return span !== null && meets([span], a, b);
}

/** Whether a span of the normalised list meets the closed stretch from a to b. */
function meets(spans: readonly Span[], a: number, b: number): boolean {
  const s = spans[firstEndingAfter(spans, a)];
  return s !== undefined && s.start <= b;
}
