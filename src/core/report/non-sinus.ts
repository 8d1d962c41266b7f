import type { NnSeries } from '../hrv/nn';
import type { RrOutlier } from '../hrv/outliers';
import type { Note, RecordingReview } from '../marks/edit';
import { type Marks, nearest } from '../marks/markset';

/** A rater's comment that begins so marks the beat under it, whatever its intervals look like. */
const ratersWord = /^(ectopic|not sinus|non-sinus)/i;
const reachMs = 150;

export const nonSinusMethod =
  'beats between the two intervals of a short-long or long-short pair by the ectopic class of Lipponen & Tarvainen (J Med Eng Technol 2019;43:173), and beats that a rater’s comment beginning "ectopic" or "not sinus" points to; no beat class was judged from the wave shape';

/** Beats a rater's comments point to, anywhere in the recording. */
export function beatsRatersMarked(review: Pick<RecordingReview, 'notes' | 'marks'>, samplingRateHz: number): number[] {
  return review.notes.flatMap(note => markedByRater(note, review.marks, samplingRateHz));
}

/** Beats of one segment's reviewed series that its intervals give away. Every one of them is still a real beat. */
export function beatsIntervalsGiveAway(
  { intervalsMs, timesSeconds }: Pick<NnSeries, 'intervalsMs' | 'timesSeconds'>,
  outliers: readonly RrOutlier[],
  samplingRateHz: number,
): number[] {
  return ectopicEnds(intervalsMs, outliers).map(i => Math.round(timesSeconds[i]! * samplingRateHz));
}

function markedByRater(note: Note, beats: Marks, rateHz: number): number[] {
  if (note.kind !== 'comment' || !ratersWord.test(note.text.trim())) return [];
  const beat = beats[nearest(beats, note.start)];
  return beat !== undefined && Math.abs(beat - note.start) <= (reachMs * rateHz) / 1000 ? [beat] : [];
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
