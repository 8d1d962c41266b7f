import { type Computed, notComputable } from '../../score/result';
import type { PairAgreement } from './rater-progress';

/** One signed-off review, as its rater's drift is made from it. */
export interface SignedReview {
  readonly rater: string;
  /** ISO 8601 in UTC. */
  readonly signedOffAt: string;
  /** Given to everybody to hold raters against each other. */
  readonly calibration: boolean;
  /** Reviewed before by the same rater, whose first review stands for the other rater's. */
  readonly repeated?: boolean;
  /** Null where the log could not be replayed here. */
  readonly work: { readonly minutes: number; readonly recordedSeconds: number } | null;
  /** With another rater of the same session; null where there is none. */
  readonly agreement: PairAgreement | null;
}

/** A rater's reviews of one week, calibration sessions and repeated ones apart. */
export interface DriftWeek {
  readonly rater: string;
  /** ISO 8601 week of signing off, in UTC: '2026-W07'. */
  readonly week: string;
  readonly calibration: boolean;
  readonly repeated: boolean;
  readonly sessions: number;
  /** Own quality minus the other rater's, in percentage points: mean over sessions; n in sessions. */
  readonly qualityDifference: Computed;
  /** Over all sessions' beats together; n in beats of both. */
  readonly f1: Computed;
  /** Mean of the sessions' kappas; n in sessions. */
  readonly kappa: Computed;
  /** Minutes at work for an hour of recording, over all sessions together; n in sessions. */
  readonly pace: Computed;
}

/** By rater, then week; calibration sessions after the others of a week. */
export function driftByWeek(reviews: readonly SignedReview[]): readonly DriftWeek[] {
  const groups = new Map<string, SignedReview[]>();
  for (const review of reviews) {
    const key = JSON.stringify([
      review.rater,
      isoWeek(review.signedOffAt),
      review.calibration,
      review.repeated === true,
    ]);
    groups.set(key, [...(groups.get(key) ?? []), review]);
  }
  const keys = [...groups.keys()].sort();
  return keys.map(key => driftWeek(groups.get(key)!));
}

function driftWeek(reviews: readonly SignedReview[]): DriftWeek {
  const { rater, signedOffAt, calibration, repeated = false } = reviews[0]!;
  const pairs = reviews.flatMap(r => r.agreement ?? []);
  const none = pairs.length > 0 ? null : repeated ? noFirst : noOther;
  return {
    rater,
    week: isoWeek(signedOffAt),
    calibration,
    repeated,
    sessions: reviews.length,
    qualityDifference: none ? notComputable(none) : meanOf(pairs.map(p => p.qualityDifference)),
    f1: none ? notComputable(none) : pooledF1(pairs),
    kappa: none ? notComputable(none) : meanOf(pairs.map(p => p.kappa)),
    pace: paceOf(reviews.flatMap(r => r.work ?? [])),
  };
}

const noOther = 'no other rater has signed off these sessions';
const noFirst = 'the first review of these sessions is not signed off';

type Value = { readonly value: number | null; readonly reason?: string };

function meanOf(results: readonly Value[]): Computed {
  const values = results.flatMap(r => r.value ?? []);
  if (values.length === 0) return notComputable(results.find(r => r.reason)?.reason ?? 'nothing to compare');
  return { value: values.reduce((sum, v) => sum + v, 0) / values.length, n: values.length };
}

/** F1 is 2 x agreed / beats, and its n these beats: sums over sessions give the F1 of all together. */
function pooledF1(pairs: readonly PairAgreement[]): Computed {
  let [agreedTwice, beats] = [0, 0];
  for (const { f1 } of pairs) {
    if (f1.value === null) continue;
    agreedTwice += f1.value * f1.n;
    beats += f1.n;
  }
  return beats > 0 ? { value: agreedTwice / beats, n: beats } : notComputable('no readable beat');
}

function paceOf(work: readonly NonNullable<SignedReview['work']>[]): Computed {
  const minutes = work.reduce((sum, w) => sum + w.minutes, 0);
  const seconds = work.reduce((sum, w) => sum + w.recordedSeconds, 0);
  if (seconds === 0) return notComputable('the sessions are not kept in this browser');
  return { value: minutes / (seconds / 3600), n: work.length };
}

const dayMs = 86_400_000;

/** ISO 8601: weeks begin on Monday; the first of a year holds its first Thursday. */
export function isoWeek(at: string): string {
  const time = new Date(at);
  const midnight = Date.UTC(time.getUTCFullYear(), time.getUTCMonth(), time.getUTCDate());
  const thursday = new Date(midnight + (4 - (time.getUTCDay() || 7)) * dayMs);
  const year = thursday.getUTCFullYear();
  const week = Math.floor((thursday.getTime() - Date.UTC(year, 0, 1)) / dayMs / 7) + 1;
  return `${year}-W${String(week).padStart(2, '0')}`;
}
