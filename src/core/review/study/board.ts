import type { RecordingReview } from '../../marks/edit';
import { type EditLog, replay } from '../../marks/log';
import { isFinished, raterLabel } from '../raters/blind';
import { isSameRater } from '../raters/compare';
import { detectedOf, type ReviewedSession } from '../session';
import { coverageOfAll, segmentsUnderReview } from '../standing/coverage';
import { type SampleProgress, sampleProgress } from '../standing/sampled';

/** How far one recorder of one session has come. Says who has finished, never what they found. */
export interface BoardRow {
  readonly session: string;
  readonly recording: string;
  readonly volunteer: string;
  readonly recorder: string;
  readonly activities: readonly string[];
  readonly seconds: number;
  readonly detectedMarks: number;
  /** Share looked at by the rater who has come furthest, 0 to 1. */
  readonly coverageShare: number;
  /** Stretches of a sample, by the rater who has reviewed most of them; null where nobody samples or all was looked at. */
  readonly sampled: SampleProgress | null;
  readonly signedOffSegments: number;
  /** Raters who have begun, and those who have finished. */
  readonly begunBy: readonly string[];
  readonly finishedBy: readonly string[];
  /** People who have finished: `R1`, `r1` and `R1.2` are one. */
  readonly finishers: number;
  readonly settled: boolean;
}

export function boardRows({ session, logs }: ReviewedSession): BoardRow[] {
  const detected = detectedOf(session);
  const rated = logs.filter(l => l.header.role === 'rater');
  const reviews = rated.map(log => replay(log, detected).recordings);
  const finished = rated.filter(isFinished);
  const isFirst = (log: EditLog, i: number) => finished.findIndex(o => isSameRater(o.header, log.header)) === i;
  const settled = logs.some(l => l.header.role === 'adjudicator' && isFinished(l));
  return session.recordings.map(item => {
    const { recording } = item;
    const own = reviews.map(r => r.get(recording.id)!);
    const furthest = Math.max(0, ...own.map(review => coverageOfAll(item, review).share));
    const segments = segmentsUnderReview(item);
    const signed = own.map(review => segments.filter(s => review.signOffs.some(o => o.segment === s.name)).length);
    return {
      session: session.id,
      recording: recording.id,
      volunteer: session.participant,
      recorder: recording.recorder,
      activities: segments.map(s => s.name),
      seconds: recording.sampleCount / recording.samplingRateHz,
      detectedMarks: item.detected.length,
      coverageShare: furthest,
      sampled: furthest < 1 ? mostSampled(own) : null,
      signedOffSegments: Math.max(0, ...signed),
      begunBy: rated.map(l => l.header.rater),
      finishedBy: finished.map(raterLabel),
      finishers: finished.filter(isFirst).length,
      settled,
    };
  });
}

function mostSampled(reviews: readonly RecordingReview[]): BoardRow['sampled'] {
  const found = reviews.flatMap(r => sampleProgress(r) ?? []);
  return found.sort((a, b) => b.reviewed - a.reviewed)[0] ?? null;
}
