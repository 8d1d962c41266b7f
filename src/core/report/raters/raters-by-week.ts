import { cohenKappa } from '../../agreement/kappa';
import { raterLabel } from '../../review/raters/blind';
import { oneSpelling, verdictCategories } from '../../review/raters/compare';
import { type DriftWeek, driftByWeek, type SignedReview } from '../../review/raters/drift';
import { minutesAtWork, type PairAgreement } from '../../review/raters/rater-progress';
import type { Computed } from '../../score/result';
import type { ReplayedSession } from '../counted-review';
import type { RaterAgreementRow } from './rater-agreement';

/** How each rater's finished reviews change over the weeks: agreement with the other rater of a session, and pace. */
export function ratersByWeek(
  sessions: readonly ReplayedSession[],
  rows: readonly RaterAgreementRow[],
): readonly DriftWeek[] {
  const reviews = sessions.flatMap(session => signedReviews(session, rows));
  const spelled = oneSpelling(reviews.map(r => r.rater));
  return driftByWeek(reviews.map(r => ({ ...r, rater: spelled(r.rater) })));
}

function signedReviews({ session, logs }: ReplayedSession, rows: readonly RaterAgreementRow[]): SignedReview[] {
  const own = rows.filter(r => r.session === session.id && r.activity === null && r.repeatedBy === null);
  const recordedSeconds = session.recordings.reduce(
    (sum, { recording: r }) => sum + r.sampleCount / r.samplingRateHz,
    0,
  );
  return logs.flatMap(({ log, replayed }): SignedReview[] => {
    const signedOff = log.entries.findLast(e => e.intent === 'finish');
    if (log.header.role !== 'rater' || !replayed.finished || !signedOff) return [];
    const { rater } = log.header;
    const work = { minutes: minutesAtWork(log), recordedSeconds };
    return [
      { rater, signedOffAt: signedOff.at, calibration: false, work, agreement: agreementOf(raterLabel(log), own) },
    ];
  });
}

/** With the first other rater of the session, over its recordings together; null without another. */
function agreementOf(label: string, rows: readonly RaterAgreementRow[]): PairAgreement | null {
  const mine = rows.filter(r => r.raterA === label || r.raterB === label);
  const other = (r: RaterAgreementRow) => (r.raterA === label ? r.raterB : r.raterA);
  const pair = mine.filter(r => other(r) === other(mine[0]!));
  if (pair.length === 0) return null;
  const sum = (pick: (r: RaterAgreementRow) => number) => pair.reduce((n, r) => n + pick(r), 0);
  const beats = sum(r => r.beatsA + r.beatsB);
  const sign = pair[0]!.raterA === label ? 1 : -1;
  const table = verdictCategories.map((_, i) => verdictCategories.map((__, j) => sum(r => r.verdictTable[i]![j]!)));
  return {
    f1: beats > 0 ? { value: (2 * sum(r => r.agreed)) / beats, n: beats } : { value: null, reason: 'no readable beat' },
    kappa: cohenKappa(table),
    qualityDifference: meanDifference(pair, sign),
    disagreements: sum(r => r.onlyA + r.onlyB + r.placedApart),
  };
}

/** Weighted by the intervals it is of. */
function meanDifference(rows: readonly RaterAgreementRow[], sign: number): Computed {
  let [weighted, n] = [0, 0];
  for (const { qualityDifference: d } of rows) {
    if (d.value === null) return d;
    weighted += sign * d.value * d.n;
    n += d.n;
  }
  return n > 0 ? { value: weighted / n, n } : { value: null, reason: 'no quality by both' };
}
