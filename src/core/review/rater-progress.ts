import { cohenKappa, type Kappa } from '../agreement/kappa';
import { type EditLog, replay } from '../marks/log';
import { type Computed, notComputable } from '../score/result';
import { compareRaters } from './compare';
import { coverageOfAll, segmentsUnderReview } from './coverage';
import { detectedOf, type Session } from './session';

/** How far one rater is with one session, without anything of what they found. */
export interface RaterProgress {
  readonly entries: number;
  /** Share looked at of all recordings, weighted by their length, 0 to 1. */
  readonly lookedAtShare: number;
  readonly signedOffSegments: number;
  readonly segments: number;
  /** Time of the last entry, ISO 8601; null without any. */
  readonly lastAt: string | null;
  /** Minutes at work; pauses left out. */
  readonly minutes: number;
}

export function raterProgress(session: Session, log: EditLog): RaterProgress {
  const { recordings } = replay(log, detectedOf(session));
  let [looked, seconds, signed, segments] = [0, 0, 0, 0];
  for (const item of session.recordings) {
    const review = recordings.get(item.recording.id)!;
    const length = item.recording.sampleCount / item.recording.samplingRateHz;
    const own = segmentsUnderReview(item);
    looked += coverageOfAll(item, review).share * length;
    seconds += length;
    segments += own.length;
    signed += own.filter(s => review.signOffs.some(o => o.segment === s.name)).length;
  }
  return {
    entries: log.entries.length,
    lookedAtShare: seconds > 0 ? looked / seconds : 0,
    signedOffSegments: signed,
    segments,
    lastAt: log.entries.at(-1)?.at ?? null,
    minutes: minutesAtWork(log),
  };
}

/** A longer time without an entry is taken for a pause. */
const pauseSeconds = 120;

/** Sum of the times between entries, pauses left out; by the clock of the rater's machine, which may have been set. */
function minutesAtWork({ entries }: Pick<EditLog, 'entries'>): number {
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
}

/** Agreement of two raters of a session, over its recordings together. */
export function pairAgreement(session: Session, a: EditLog, b: EditLog): PairAgreement {
  const detected = detectedOf(session);
  const [ofA, ofB] = [replay(a, detected).recordings, replay(b, detected).recordings];
  let [agreed, beats] = [0, 0];
  const table = Array.from({ length: 4 }, () => [0, 0, 0, 0]);
  for (const item of session.recordings) {
    const { id } = item.recording;
    const { total } = compareRaters({ item, a: ofA.get(id)!, b: ofB.get(id)!, settings: session.settings });
    agreed += total.agreed;
    beats += total.beatsA + total.beatsB;
    for (const [i, row] of total.verdictTable.entries()) for (const [j, n] of row.entries()) table[i]![j]! += n;
  }
  const f1: Computed = beats > 0 ? { value: (2 * agreed) / beats, n: beats } : notComputable('no readable beat');
  return { f1, kappa: cohenKappa(table) };
}
