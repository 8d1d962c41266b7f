import type { NnSeries } from '../hrv/nn';
import type { RrOutlier } from '../hrv/outliers';
import type { RecordingReview } from '../marks/edit';
import { type Marks, nearest } from '../marks/markset';

/** A beat that was moved after it was marked as not sinus is found again this near. */
const reachMs = 150;

export const nonSinusMethod =
  'beats between the two intervals of a short-long or long-short pair by the ectopic class of Lipponen & Tarvainen (J Med Eng Technol 2019;43:173), and beats that the rater marked as not sinus; no beat class was judged from the wave shape';

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
