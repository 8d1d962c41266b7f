import { intervalCheck } from '../hrv/interval-check';
import { type NnSeries, nnIntervals } from '../hrv/nn';
import { type RrOutlier, rrOutliers } from '../hrv/outliers';
import type { RecordingReview } from '../marks/edit';
import { type Marks, marksFrom, noMarks } from '../marks/markset';
import { union } from '../marks/spans';
import type { Segment } from '../recording/recording';
import type { SessionRecording } from '../review/session';
import { segmentsUnderReview } from '../review/standing/coverage';
import type { Span } from '../units';
import { beatsIntervalsGiveAway, beatsRatersMarked, type SinusCheck, sinusCheck } from './non-sinus';

/** The three series of a segment: the recorder's marks, the reviewed ones, and those without non-sinus beats. */
export const seriesNames = ['detected', 'reviewed', 'sinus'] as const;
export type SeriesName = (typeof seriesNames)[number];

/** What the HRV of one segment is computed from. */
export interface SegmentSeries {
  readonly recorder: string;
  readonly samplingRateHz: number;
  readonly segment: Segment;
  readonly series: Readonly<Record<SeriesName, NnSeries>>;
  /** Intervals of an odd pattern in the reviewed series. */
  readonly outliers: readonly RrOutlier[];
  readonly nonSinusBeats: number;
  /** What the third series can be relied on by. */
  readonly sinusCheck: SinusCheck;
}

export function seriesOfRecording(item: SessionRecording, review: RecordingReview): SegmentSeries[] {
  const { recorder, gaps, samplingRateHz } = item.recording;
  const excluded = union(review.unreadable, gaps);
  const byRater = beatsRatersMarked(review, samplingRateHz);
  return segmentsUnderReview(item).map(segment => {
    const from = (beats: Marks, left: readonly Span[], nonSinus = noMarks) =>
      nnIntervals({ beats, excluded: left, nonSinus, samplingRateHz }, segment);
    const reviewed = from(review.marks, excluded);
    const outliers = rrOutliers(reviewed.intervalsMs);
    const check = sinusCheck(segment, review, excluded, intervalCheck(reviewed, outliers));
    const nonSinus = marksFrom([
      ...byRater.filter(beat => beat >= segment.start && beat < segment.end),
      // What the rater set aside stays in.
      ...(check.status === 'confirmed' ? [] : beatsIntervalsGiveAway(reviewed, outliers, samplingRateHz)),
    ]);
    const series = {
      detected: from(item.detected, gaps),
      reviewed,
      sinus: nonSinus.length > 0 ? from(review.marks, excluded, nonSinus) : reviewed,
    };
    const nonSinusBeats = nonSinus.length;
    return { recorder, samplingRateHz, segment, series, outliers, nonSinusBeats, sinusCheck: check };
  });
}
