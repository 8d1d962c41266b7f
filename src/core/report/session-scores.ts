import type { RecordingReview } from '../marks/edit';
import { type EditLog, type LogHeader, replay } from '../marks/log';
import { evidenceIn } from '../review/places/evidence';
import { isBlind } from '../review/raters/blind';
import { codesBefore } from '../review/raters/reassign';
import { detectedOf, type ReviewedSession, type Session } from '../review/session';
import { groundsOf } from '../review/standing/grounds';
import type { Looker } from '../review/standing/looked-at';
import { type ReviewedScore, type ReviewedSegment, reviewedScore } from '../review/standing/reviewed-score';
import { type SampledReview, sampledReviews } from '../review/standing/sampled';
import { scoreReview } from '../review/standing/score-review';
import { standingRow } from '../review/standing/standing-words';
import type { SampledNumber } from '../sample/number';
import { type ScoreReport, type ScoreRow, scoreReport } from '../score/measures';
import type { RecordingScore } from '../score/score';

/** What one rater's log says of one recorder. The page, the exports and the command line all take their numbers here. */
export interface SessionScore {
  readonly rater: string;
  readonly role: LogHeader['role'];
  /** Signed off as a whole. */
  readonly finished: boolean;
  /** Nothing was rated after other reviews of the session could be seen. */
  readonly blind: boolean;
  /** Codes that the review was under before; see codesBefore. */
  readonly reassignedFrom: readonly string[];
  readonly recordingId: string;
  readonly recorder: string;
  readonly review: RecordingReview;
  /** Whose looking it rests on; null when those logs are not here. */
  readonly lookers: readonly Looker[] | null;
  /** Counts what was looked at; each segment and the total say how far that goes. */
  readonly score: ReviewedScore;
  readonly report: ScoreReport;
  /** Numbers from samples, where the review has any. */
  readonly sampled: readonly SampledReview[];
}

/**
 * Scores of each log on each recording, in the order of the logs and recordings; only of `rater` when given. A session
 * without a log has none: nobody has said where the beats are.
 */
export function sessionScores({ session, logs }: ReviewedSession, rater?: string): SessionScore[] {
  const chosen = rater === undefined ? logs : logs.filter(log => log.header.rater === rater);
  return chosen.flatMap(log => logScores(session, log, logs));
}

function logScores(session: Session, log: EditLog, logs: readonly EditLog[]): SessionScore[] {
  const replayed = replay(log, detectedOf(session));
  const { recordings, finished } = replayed;
  const grounds = groundsOf(session, log, replayed, logs);
  const { lookers } = grounds;
  return session.recordings.map(item => {
    const review = recordings.get(item.recording.id)!;
    const score = reviewedScore(scoreReview(item, review, session.settings), item, grounds.of(item.recording.id));
    const { id, recorder } = item.recording;
    const { rater, role } = log.header;
    const sampled = sampledReviews(item, review, score);
    const report = withSamples(withEvidence(withStanding(score), score, review), sampled);
    return {
      rater,
      role,
      finished,
      blind: isBlind(log),
      reassignedFrom: codesBefore(log),
      recordingId: id,
      recorder,
      review,
      lookers,
      score,
      report,
      sampled,
    };
  });
}

/** Each row says how much of it was looked at, beside the quality. */
function withStanding(score: ReviewedScore): ScoreReport {
  const report = scoreReport(score);
  const row = (r: ScoreRow, { standing }: ReviewedSegment): ScoreRow => ({ ...r, ...standingRow(standing) });
  return {
    ...report,
    segments: report.segments.map((r, i) => row(r, score.segments[i]!)),
    total: row(report.total, score.total),
  };
}

/** A score says where the other recorder's trace was used as evidence. */
function withEvidence(report: ScoreReport, score: RecordingScore, review: RecordingReview): ScoreReport {
  const counts = score.segments.map(s => evidenceIn(review, s.segment));
  return {
    ...report,
    segments: report.segments.map((row, i) => ({ ...row, otherTraceUsed: counts[i]! })),
    total: { ...report.total, otherTraceUsed: counts.reduce((a, b) => a + b, 0) },
  };
}

/** A sampled segment has its sampled quality beside the counts of what was looked at, which are not its quality. */
function withSamples(report: ScoreReport, sampled: readonly SampledReview[]): ScoreReport {
  if (sampled.length === 0) return report;
  const own = new Map(sampled.flatMap(s => s.segments).map(s => [s.segment.name, s.number] as const));
  const whole =
    sampled.find(s => s.laidOut.plan.segment === null)?.whole ??
    (report.segments.length === 1 ? [...own.values()][0] : undefined);
  return {
    ...report,
    segments: report.segments.map(row => {
      const number = own.get(row.name);
      return number ? { ...row, sampled: sampledRow(number) } : row;
    }),
    total: whole ? { ...report.total, sampled: sampledRow(whole) } : report.total,
  };
}

export type SampledScore = ReturnType<typeof sampledRow>;

/** A sampled number as JSON; what cannot be computed is null with its reason. */
export function sampledRow(number: SampledNumber) {
  const { quality, interval95, seed, stretchSeconds, stretches, drawn, known, skipped, exact, boundFactor } = number;
  return {
    qualityPercent: quality.value,
    interval95,
    ...(quality.value === null ? { reason: quality.reason } : {}),
    seed,
    stretchSeconds,
    stretches,
    reviewed: number.reviewed,
    drawn,
    known,
    skipped,
    exact,
    boundFactor,
  };
}
