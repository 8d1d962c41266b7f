import type { IntervalCheck } from '../hrv/interval-check';
import type { NnSeries } from '../hrv/nn';
import type { RrOutlier } from '../hrv/outliers';
import type { RecordingReview } from '../marks/edit';
import { type Marks, nearest } from '../marks/markset';
import { subtract } from '../marks/spans';
import type { Span } from '../units';

/** A beat that was moved after it was marked as not sinus is found again this near. */
const reachMs = 150;

/** Share of odd intervals below which the measures without non-sinus beats are shown although nobody confirmed which beats those are. */
const mostOddShare = 0.01;

export const nonSinusMethod = `where the rater went through the beats proposed as not sinus (by shape, timing and P wave) and confirmed or set aside each, those that the rater marked. Elsewhere those that the rater marked and those between the intervals of a short-long or long-short pair by the ectopic class of Lipponen & Tarvainen (J Med Eng Technol 2019;43:173), and only where fewer than ${100 * mostOddShare} % of the intervals are odd (of any class of theirs, or more than 20 % off the one before); else not computable`;

/** Whether the measures without non-sinus beats can be relied on in one segment, and why. */
export interface SinusCheck {
  /** `confirmed`: the rater went through the proposed beats; `few odd intervals`: nobody did, but hardly any stands out. */
  readonly status: 'confirmed' | 'few odd intervals' | 'not confirmed';
  readonly oddIntervals: number;
  /** Of the reviewed intervals, in [0, 1]. */
  readonly oddShare: number;
  /** Why they are not computable; null where they are. */
  readonly reason: string | null;
}

/** `unreadable`: what need not be gone through: unreadable stretches and gaps. */
export function sinusCheck(
  segment: Span,
  { rhythmChecked }: Pick<RecordingReview, 'rhythmChecked'>,
  unreadable: readonly Span[],
  { odd, share }: IntervalCheck,
): SinusCheck {
  const counts = { oddIntervals: odd, oddShare: share };
  const toCheck = subtract([segment], unreadable);
  // Where nothing can be read nobody confirmed anything.
  if (toCheck.length > 0 && subtract(toCheck, rhythmChecked).length === 0)
    return { status: 'confirmed', ...counts, reason: null };
  if (share < mostOddShare) return { status: 'few odd intervals', ...counts, reason: null };
  const percent = (100 * share).toFixed(1);
  const reason = `${percent} % of the intervals are odd (${odd}), and the beats proposed as not sinus were not confirmed`;
  return { status: 'not confirmed', ...counts, reason };
}

/** Beats a rater marked as not sinus, anywhere in the recording, by the key or by a remark of an old log. */
export function beatsRatersMarked(
  { notSinus, notes, marks }: Pick<RecordingReview, 'notSinus' | 'notes' | 'marks'>,
  samplingRateHz: number,
): number[] {
  const places = [...notSinus, ...notes.filter(n => n.kind === 'not sinus').map(n => n.start)];
  return places.flatMap(at => beatNear(marks, at, samplingRateHz));
}

/** Beats of one segment's reviewed series that its intervals give away. Every one of them is still a real beat. */
export function beatsIntervalsGiveAway(
  { intervalsMs, timesSeconds }: Pick<NnSeries, 'intervalsMs' | 'timesSeconds'>,
  outliers: readonly RrOutlier[],
  samplingRateHz: number,
): number[] {
  return ectopicEnds(intervalsMs, outliers).map(i => Math.round(timesSeconds[i]! * samplingRateHz));
}

function beatNear(beats: Marks, at: number, rateHz: number): number[] {
  const beat = beats[nearest(beats, at)];
  return beat !== undefined && Math.abs(beat - at) <= (reachMs * rateHz) / 1000 ? [beat] : [];
}

/**
 * Intervals whose last beat is the early (or late) one of an ectopic pair. In a run of such intervals those are the short
 * ones followed by a longer one; a run without any is a late beat, and all beats inside the run are taken.
 */
function ectopicEnds(intervalsMs: ArrayLike<number>, outliers: readonly RrOutlier[]): number[] {
  const ectopic = outliers.filter(o => o.kind === 'ectopic').map(o => o.index);
  const ends: number[] = [];
  for (let from = 0; from < ectopic.length; ) {
    let to = from;
    while (ectopic[to + 1] === ectopic[to]! + 1) to++;
    const inside = ectopic.slice(from, to);
    const early = inside.filter(i => intervalsMs[i]! < intervalsMs[i + 1]!);
    ends.push(...(early.length > 0 ? early : inside));
    from = to + 1;
  }
  return ends;
}
