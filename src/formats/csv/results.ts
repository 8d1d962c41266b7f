import { lastHash } from '../../core/marks/log';
import type { Segment } from '../../core/recording/recording';
import { recordingFacts } from '../../core/report/provenance';
import { type SampledScore, type SessionScore, sampledRow, sessionScores } from '../../core/report/session-scores';
import { appName, appVersion } from '../../core/report/version';
import { evidenceIn } from '../../core/review/places/evidence';
import { isBlind } from '../../core/review/raters/blind';
import { codesBefore } from '../../core/review/raters/reassign';
import type { ReviewedSession, SessionRecording } from '../../core/review/session';
import { coverageOf } from '../../core/review/standing/coverage';
import { type LookedAt, lookedAt, lookedAtWords, notHere } from '../../core/review/standing/looked-at';
import { sampledIntervalMethod } from '../../core/sample/number';
import { errorRunsMethod } from '../../core/score/error-runs';
import type { ScoreRow } from '../../core/score/measures';
import type { Interval } from '../../core/score/result';
import type { SegmentScore } from '../../core/score/score';
import { type Cell, csvText } from './csv';

/**
 * A session and the raters whose logs are shown. Logs of others leave no trace in what is exported, but for how much was
 * looked at by the two whose logs a shown one settles.
 */
export interface ShownSession {
  readonly reviewed: ReviewedSession;
  readonly raters: readonly string[];
}

/** Column of the CSV, and the key of the score row it holds. Units are in the name; samples count from 0. */
const measureColumns: readonly (readonly [column: string, key: string])[] = [
  ['start_sample', 'startSample'],
  ['end_sample', 'endSample'],
  ['beats', 'beats'],
  ['detected_marks', 'detectedMarks'],
  ['missed', 'missed'],
  ['wrong_peak', 'wrongPeak'],
  ['extra', 'extra'],
  ['refined', 'refined'],
  ['judged_intervals', 'judgedIntervals'],
  ['lost_intervals', 'lostIntervals'],
  ['lost_to_no_signal', 'lostToNoSignal'],
  ['right_intervals', 'rightIntervals'],
  ['quality_percent', 'qualityPercent'],
  ['quality_low95_percent', 'qualityLow'],
  ['quality_high95_percent', 'qualityHigh'],
  ['quality_if_independent_low95_percent', 'qualityIfIndependentLow'],
  ['quality_if_independent_high95_percent', 'qualityIfIndependentHigh'],
  ['readable_quality_percent', 'readableQualityPercent'],
  ['own_intervals', 'ownIntervals'],
  ['own_right_intervals', 'ownRightIntervals'],
  ['own_quality_percent', 'ownQualityPercent'],
  ['wrong_by_missed', 'wrongByMissed'],
  ['wrong_by_wrong_peak', 'wrongByWrongPeak'],
  ['wrong_by_extra', 'wrongByExtra'],
  ['true_positives', 'truePositives'],
  ['false_negatives', 'falseNegatives'],
  ['false_positives', 'falsePositives'],
  ['sensitivity', 'sensitivity'],
  ['ppv', 'ppv'],
  ['f1', 'f1'],
  ['detection_error_rate', 'detectionErrorRate'],
  ['unreadable_s', 'unreadableSeconds'],
  ['no_signal_s', 'noSignalSeconds'],
  ['mean_error_ms', 'meanErrorMs'],
  ['sd_error_ms', 'sdErrorMs'],
  ['p95_abs_error_ms', 'p95AbsErrorMs'],
];

const head: readonly string[] = [
  'session',
  'participant',
  'rater',
  'role',
  'signed_off',
  'blind',
  'reassigned_from',
  'recording',
  'recorder',
  'sampling_rate_hz',
  'row',
  'segment',
  'start_s',
  'end_s',
  'status',
  ...measureColumns.map(([column]) => column),
  'coverage_percent',
  'looked_at_by',
  'other_trace_used',
  'sampled_stretches',
  'stretches',
  'sample_seed',
  'not_computable',
];

/** Tidy table: one row per rater, recorder and segment (`row` = segment), and one for all its segments (`row` = total). */
export function resultsCsv(shown: readonly ShownSession[]): string {
  return csvText(head, shown.flatMap(sessionRows));
}

function sessionRows({ reviewed, raters }: ShownSession): Cell[][] {
  return raters.flatMap(rater => sessionScores(reviewed, rater).flatMap(score => scoreRows(reviewed, score)));
}

function scoreRows({ session }: ReviewedSession, s: SessionScore): Cell[][] {
  const item = session.recordings.find(r => r.recording.id === s.recordingId)!;
  const rateHz = item.recording.samplingRateHz;
  const start: Cell[] = [
    session.id,
    session.participant,
    s.rater,
    s.role,
    s.finished,
    s.blind,
    s.reassignedFrom.join(' '),
    s.recordingId,
    s.recorder,
    rateHz,
  ];
  const looked = (segment: Segment | null) => lookedAt(item, s.lookers, segment);
  const segments = s.score.segments.map((part, i) =>
    rowCells('segment', part, rateHz, looked(part.segment), s.report.segments[i]!),
  );
  const total = rowCells('total', s.score.total, rateHz, looked(null), s.report.total);
  return [...segments, total].map(cells => [...start, ...cells]);
}

function rowCells(kind: string, part: SegmentScore, rateHz: number, looked: LookedAt, row: ScoreRow): Cell[] {
  const interval = row['qualityInterval95'] as Interval | null;
  const independent = row['qualityInterval95IfIndependent'] as Interval | null;
  const values: Record<string, unknown> = {
    ...row,
    qualityLow: interval?.[0] ?? null,
    qualityHigh: interval?.[1] ?? null,
    qualityIfIndependentLow: independent?.[0] ?? null,
    qualityIfIndependentHigh: independent?.[1] ?? null,
  };
  const reasons =
    part.withheld === undefined
      ? Object.entries((row['reasons'] ?? {}) as Record<string, string>)
      : [['every number', part.withheld]];
  if (looked.share === null) reasons.push(['coverage', notHere]);
  return [
    kind,
    row.name,
    part.segment.start / rateHz,
    part.segment.end / rateHz,
    row['status'] as string,
    ...measureColumns.map(([, key]) => values[key] as number | null),
    looked.share === null ? null : 100 * looked.share,
    lookedAtWords(looked),
    row['otherTraceUsed'] as number,
    ...sampleCells(row['sampled'] as SampledScore | undefined),
    reasons.map(([key, reason]) => `${key}: ${reason}`).join('; '),
  ];
}

/** Of a sampled review: stretches reviewed, stretches in all, and the seed their order follows from. */
function sampleCells(sampled: SampledScore | undefined): Cell[] {
  return sampled ? [sampled.reviewed, sampled.stretches, sampled.seed] : [null, null, null];
}

/**
 * What a reader of the table needs beside it, as plain data for JSON: settings, versions, who rated what and how much of
 * it they looked at. `date` is given by the caller, ISO 8601.
 */
export function resultsSidecar(shown: readonly ShownSession[], date: string): Record<string, unknown> {
  return {
    writtenBy: `${appName} ${appVersion}`,
    date,
    table: {
      encoding: 'UTF-8, comma, CR LF',
      emptyCell: 'not computable; the reason is in not_computable',
      status:
        'final: all of it looked at, or signed off; sampled: quality and its interval are estimated from sampled_stretches of all stretches, the counts are of what was looked at; so far: counts of the part looked at alone (of a total: of its final segments, if it has any); not reviewed yet: no number',
      qualityPercent: '100 x right_intervals / (judged_intervals + lost_intervals)',
      qualityInterval: `${errorRunsMethod}; columns named if_independent: Wilson score interval (Newcombe, Stat Med 1998;17:857, method 3)`,
      sampledInterval: sampledIntervalMethod,
      textCells:
        'a text starting with = + - @ has an apostrophe before it, so that no spreadsheet takes it for a formula',
    },
    sessions: shown.map(sessionFacts),
  };
}

function sessionFacts({ reviewed, raters }: ShownSession) {
  const { id, title, participant, settings, recordings } = reviewed.session;
  const logs = reviewed.logs.filter(log => raters.includes(log.header.rater));
  return {
    id,
    title,
    participant,
    settings,
    recordings: recordings.map(recordingFacts),
    raters: logs.map(log => ({
      rater: log.header.rater,
      role: log.header.role,
      blind: isBlind(log),
      reassignedFrom: codesBefore(log),
      entries: log.entries.length,
      lastHash: lastHash(log),
      recordings: sessionScores(reviewed, log.header.rater).map(s => reviewFacts(recordings, s)),
    })),
  };
}

function reviewFacts(recordings: readonly SessionRecording[], s: SessionScore) {
  const item = recordings.find(r => r.recording.id === s.recordingId)!;
  return {
    recording: s.recordingId,
    finished: s.finished,
    segments: s.score.segments.map(({ segment, standing }) => {
      const c = coverageOf(item, s.review, segment);
      const looked = lookedAt(item, s.lookers, segment);
      const { seenSeconds, totalSeconds, marksLookedAt, marksTotal } = c;
      const signOff = s.review.signOffs.find(o => o.segment === segment.name) ?? null;
      return {
        segment: segment.name,
        status: standing.status,
        ...(standing.sampled ? { sampled: sampledRow(standing.sampled) } : {}),
        coveragePercent: looked.share === null ? null : 100 * looked.share,
        lookedAtBy: looked.by.map(({ rater, share }) => ({ rater, percent: 100 * share })),
        seenSeconds,
        totalSeconds,
        marksLookedAt,
        marksTotal,
        otherTraceUsed: evidenceIn(s.review, segment),
        signOff,
      };
    }),
  };
}
