import { cohenKappa, type Kappa } from '../../agreement/kappa';
import { type EditLog, replay } from '../../marks/log';
import { type Computed, notComputable } from '../../score/result';
import { detectedOf, type Session } from '../session';
import { coverageOfAll, segmentsUnderReview } from '../standing/coverage';
import type { ReviewedSegment } from '../standing/reviewed-score';
import { type SampleProgress, sampleProgress } from '../standing/sampled';
import { compareRaters } from './compare';

/** How far one rater is with one session, without anything of what they found. */
export interface RaterProgress {
  readonly entries: number;
  /** Share looked at of all recordings, weighted by their length, 0 to 1. */
  readonly lookedAtShare: number;
  /** Stretches of samples, all recordings together; null where there is none. */
  readonly sampled: SampleProgress | null;
  /** Detected marks still as they came, neither accepted nor in an unreadable span. */
  readonly marksLeft: number;
  readonly signedOffSegments: number;
  readonly segments: number;
  /** Length of all recordings together. */
  readonly recordedSeconds: number;
  /** Time of the last entry, ISO 8601; null without any. */
  readonly lastAt: string | null;
  /** Minutes at work; pauses left out. */
  readonly minutes: number;
}

export function raterProgress(session: Session, log: EditLog): RaterProgress {
  const { recordings } = replay(log, detectedOf(session));
  let [looked, seconds, signed, segments, marksLeft] = [0, 0, 0, 0, 0];
  let sampled: SampleProgress | null = null;
  for (const item of session.recordings) {
    const review = recordings.get(item.recording.id)!;
    const length = item.recording.sampleCount / item.recording.samplingRateHz;
    const own = segmentsUnderReview(item);
    const coverage = coverageOfAll(item, review);
    looked += coverage.share * length;
    marksLeft += coverage.marksLeft.length;
    seconds += length;
    segments += own.length;
    sampled = together(sampled, sampleProgress(review));
    signed += own.filter(s => review.signOffs.some(o => o.segment === s.name)).length;
  }
  return {
    entries: log.entries.length,
    lookedAtShare: seconds > 0 ? looked / seconds : 0,
    sampled,
    marksLeft,
    signedOffSegments: signed,
    segments,
    recordedSeconds: seconds,
    lastAt: log.entries.at(-1)?.at ?? null,
    minutes: minutesAtWork(log),
  };
}

function together(a: SampleProgress | null, b: SampleProgress | null): SampleProgress | null {
  return a && b ? { reviewed: a.reviewed + b.reviewed, stretches: a.stretches + b.stretches } : (a ?? b);
}

/** A longer time without an entry is taken for a pause. */
const pauseSeconds = 120;

/** Sum of the times between entries, pauses left out; by the clock of the rater's machine, which may have been set. */
export function minutesAtWork({ entries }: Pick<EditLog, 'entries'>): number {
  let seconds = 0;
  for (const [i, entry] of entries.entries()) {
    const gap = i === 0 ? 0 : (Date.parse(entry.at) - Date.parse(entries[i - 1]!.at)) / 1000;
    if (gap > 0 && gap <= pauseSeconds) seconds += gap;
  }
  return seconds / 60;
}

/** The first entries of a log: those that were signed off. */
export function firstEntries(log: EditLog, count: number): EditLog {
  return { header: log.header, entries: log.entries.slice(0, count) };
}

export interface PairAgreement {
  /** 2 x agreed / (beats of A + beats of B) over all recordings, a fraction. */
  readonly f1: Computed;
  /** On the verdict of each detected mark, all recordings together. */
  readonly kappa: Kappa;
  /** RR-interval quality over all recordings by A minus that by B, in percentage points; n is the smaller count. */
  readonly qualityDifference: Computed;
  /** Differences to settle. */
  readonly disagreements: number;
}

/** Agreement of two raters of a session, over its recordings together. */
export function pairAgreement(session: Session, a: EditLog, b: EditLog): PairAgreement {
  const detected = detectedOf(session);
  const [ofA, ofB] = [replay(a, detected).recordings, replay(b, detected).recordings];
  const compared = session.recordings.map(item => {
    const { id } = item.recording;
    return compareRaters({ item, a: ofA.get(id)!, b: ofB.get(id)!, settings: session.settings });
  });
  let [agreed, beats] = [0, 0];
  const table = Array.from({ length: 4 }, () => [0, 0, 0, 0]);
  for (const { total } of compared) {
    agreed += total.agreed;
    beats += total.beatsA + total.beatsB;
    for (const [i, row] of total.verdictTable.entries()) for (const [j, n] of row.entries()) table[i]![j]! += n;
  }
  return {
    f1: beats > 0 ? { value: (2 * agreed) / beats, n: beats } : notComputable('no readable beat'),
    kappa: cohenKappa(table),
    qualityDifference: difference(
      pooledQuality(compared.map(c => c.scoreA.total)),
      pooledQuality(compared.map(c => c.scoreB.total)),
    ),
    disagreements: compared.reduce((n, c) => n + c.disagreements.length, 0),
  };
}

/** Quality in percent over several recordings: their intervals together, all of them looked at. */
function pooledQuality(totals: readonly ReviewedSegment[]): Computed {
  let [right, all] = [0, 0];
  for (const { counts, standing } of totals) {
    if (standing.status === 'sampled') return notComputable('reviewed as a sample: see the comparison of the two');
    if (standing.status !== 'final') return notComputable('not all of it was looked at');
    if (counts.lost === null) return notComputable('no readable beat');
    right += counts.right;
    all += counts.judged + counts.lost;
  }
  return all > 0 ? { value: (100 * right) / all, n: all } : notComputable('no pair of consecutive readable beats');
}

function difference(a: Computed, b: Computed): Computed {
  if (a.value === null) return a;
  return b.value === null ? b : { value: a.value - b.value, n: Math.min(a.n, b.n) };
}
