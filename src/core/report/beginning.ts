import type { MatchSettings } from '../marks/match';
import { evidenceIn } from '../review/places/evidence';
import { raterLabel } from '../review/raters/blind';
import type { ReviewedSession, SessionRecording } from '../review/session';
import { segmentsUnderReview } from '../review/standing/coverage';
import { lookedAt } from '../review/standing/looked-at';
import { type ReviewedScore, reviewedScore } from '../review/standing/reviewed-score';
import { scoreReview } from '../review/standing/score-review';
import type { Study } from '../review/study/study';
import { type ActsRow, actsTable } from './audit';
import { cautionsOf, multiplicityCaution } from './cautions';
import { type CountedReview, countedReview, type ReplayedSession, replaySession } from './counted-review';
import { finalItems } from './final-segments';
import { type FlowStep, reportFlow } from './flow';
import { type SegmentSeries, seriesOfRecording } from './hrv-series';
import type { KeptWork } from './kept-work';
import { type MethodsPart, methodsText } from './methods-text';
import { clocksOfSession } from './pairs/compared-recorders';
import type { ClockFacts, FoundClock } from './pairs/recorder-pairs';
import type { StudyCell } from './quality-table';
import { type RaterAgreement, raterAgreement } from './raters/rater-agreement';
import type { ReportSettings, SegmentRow, SessionTableRow } from './rows';
import { type SampledRow, sampledTable } from './sampled-quality';
import {
  type SecondDetector,
  type SecondDetectorPass,
  secondDetectorPass,
  secondDetectorRows,
} from './second-detector';
import { type StudyNumbers, studyNumbers } from './study-numbers';
import { type ToleranceRow, toleranceTable } from './tolerance';
import { appName, appVersion } from './version';

export interface ReportInput {
  readonly title: string;
  /** Null for a report on sessions that belong to no study. */
  readonly study: Study | null;
  readonly sessions: readonly ReviewedSession[];
  readonly settings: ReportSettings;
  /** By session id: logs that were left out of `sessions` because they are damaged; absent for none. */
  readonly damagedLogs?: ReadonlyMap<string, number>;
  /** Clocks found by earlier reports, by `clockKey`; new ones are put in. The numbers are the same with and without. */
  readonly foundClocks?: Map<string, FoundClock>;
  /** Parts of earlier reports, which are not worked out again where nothing they depend on has changed. */
  readonly kept?: KeptWork;
  /** Where the settings ask for the second detector: what it found in each recording, from the signal alone. */
  readonly second?: SecondDetector;
  /** Called now and then with the share of the work that is done, in [0, 1]. */
  readonly onProgress?: (share: number) => void;
  /** Called with what stands first in the report as soon as it is known: the rest takes longer. */
  readonly onBeginning?: (beginning: ReportBeginning) => void;
}

/** What stands first in a report, up to the tables of quality: it needs no HRV and no comparison of the recorders. */
export interface ReportBeginning {
  readonly writtenBy: string;
  readonly title: string;
  readonly study: Study | null;
  readonly settings: ReportSettings;
  readonly volunteers: readonly string[];
  readonly recorders: readonly string[];
  readonly activities: readonly string[];
  readonly sessions: readonly SessionTableRow[];
  /** Volunteers and hours step by step, with what each step lost. */
  readonly flow: readonly FlowStep[];
  readonly segments: readonly SegmentRow[];
  /** Where reviews are samples: full and sampled ones together, each named. */
  readonly sampled: readonly SampledRow[];
  readonly numbers: StudyNumbers;
  readonly raters: RaterAgreement;
  readonly clocks: readonly ClockFacts[];
  readonly methods: readonly MethodsPart[];
  /** The quality with other tolerances of the matching. */
  readonly tolerances: readonly ToleranceRow[];
  /** How far the reviews lean on the marks they started from; null where the second detector was not asked. */
  readonly secondDetector: SecondDetectorPass | null;
  readonly audit: readonly ActsRow[];
  readonly cautions: readonly string[];
}

/** Shares of the whole work at which its parts begin and end. */
export const shares = {
  replay: [0, 0.05],
  score: [0.05, 0.1],
  clocks: [0.1, 0.4],
  hrv: [0.4, 0.7],
  pairs: [0.7, 0.9],
} as const;

/** `work` on each of a list, reporting between which shares of the whole report on it counts. */
export function withProgress<T, R>(
  { onProgress, sessions }: ReportInput,
  [from, to]: readonly [number, number],
  work: (one: T) => R,
): (one: T, i: number) => R {
  return (one, i) => {
    const made = work(one);
    onProgress?.(from + ((to - from) * (i + 1)) / sessions.length);
    return made;
  };
}

/** What a report is made from: sessions replayed, and of each the review that counts. */
export interface Begun {
  readonly sessions: readonly ReplayedSession[];
  readonly countedRater: string | null;
  readonly reviews: readonly CountedReview[];
  readonly scores: ScoreOf;
  readonly segments: readonly SegmentRow[];
  readonly seriesOf: (counted: CountedReview) => readonly SegmentSeries[];
}

/** What is worked out session by session. */
export function begin(input: ReportInput, kept: KeptWork): Begun {
  const { settings, study } = input;
  const { includeUnfinished } = settings;
  const countedRater = study?.countedRater || null;
  const sessions = [...input.sessions]
    .sort((a, b) => compare(a.session.participant, b.session.participant) || compare(a.session.id, b.session.id))
    .map(withProgress(input, shares.replay, s => kept.of(`replayed ${s.session.id}`, [s], () => replaySession(s))));
  const counted = (s: ReplayedSession) =>
    kept.of(`counted ${s.session.id}`, [s, includeUnfinished, countedRater], () =>
      countedReview(s, includeUnfinished, countedRater),
    );
  const reviews = sessions.flatMap(s => counted(s) ?? []);
  const scores = scoresOf(settings.match, kept);
  const match = JSON.stringify(settings.match);
  const segmentsOf = (c: CountedReview) =>
    kept.of(`segments ${c.session.id}`, [c, match], () => segmentRows(c, scores));
  const seriesOf = (c: CountedReview) =>
    kept.of(`series ${c.session.id}`, [c], () =>
      finalItems(c).flatMap(item => seriesOfRecording(item, c.recordings.get(item.recording.id)!)),
    );
  const segments = reviews.flatMap(withProgress(input, shares.score, segmentsOf));
  return { sessions, countedRater, reviews, scores, segments, seriesOf };
}

export function beginningOf(begun: Begun, input: ReportInput, kept: KeptWork): ReportBeginning {
  const { sessions, countedRater, reviews, scores, segments, seriesOf } = begun;
  const { settings } = input;
  const match = JSON.stringify(settings.match);
  const names = namesOf(input, reviews);
  const rows = sessions.map(s => sessionRow(s, reviews, input.damagedLogs?.get(s.session.id) ?? 0));
  const enrolled = input.study?.sessions ?? rows.map(s => s.session);
  const cells = cellsOf(segments, names);
  const clocksOf = withProgress(input, shares.clocks, (c: CountedReview) => clocksOfSession(c, { ...input, kept }));
  const parts = {
    sessions: rows,
    flow: reportFlow({ enrolled, sessions: rows, segments, countedRater }),
    segments,
    sampled: sampledTable(segments),
    numbers: kept.of('numbers', [JSON.stringify(cells), JSON.stringify(settings.statistics)], () =>
      studyNumbers({ cells, agreement: [] }, settings.statistics),
    ),
    raters: kept.of('raters', [match, ...sessions], () => raterAgreement(sessions, settings.match)),
    clocks: reviews.flatMap(clocksOf),
  };
  const secondDetector = input.second ? secondPass(reviews, input.second, settings, scores) : null;
  const audit = sessions.flatMap(s => kept.of(`acts ${s.session.id}`, [s], () => actsTable([s])));
  const series = reviews.flatMap(seriesOf);
  return {
    writtenBy: `${appName} ${appVersion}`,
    title: input.title,
    study: input.study,
    settings,
    ...names,
    ...parts,
    methods: methodsText({ ...input, ...names, ...parts, series, audit, secondDetector }),
    tolerances: tolerancesOf(begun, settings, kept),
    secondDetector,
    audit,
    cautions: [...cautionsOf(rows, segments, secondDetector), ...multiplicityCaution(parts.numbers)],
  };
}

function tolerancesOf({ reviews, segments }: Begun, { match, statistics }: ReportSettings, kept: KeptWork) {
  const { level } = statistics.bootstrap;
  return kept.of('tolerances', [JSON.stringify(match), level, ...reviews, ...segments], () =>
    toleranceTable(
      reviews,
      segments.filter(row => row.standing.status === 'final'),
      match,
      level,
    ),
  );
}

const compare = (a: string, b: string) => (a < b ? -1 : a > b ? 1 : 0);

type ScoreOf = (counted: CountedReview, item: SessionRecording) => ReviewedScore;

/** Each recording is scored once, with the report's settings. */
function scoresOf(settings: MatchSettings, kept: KeptWork): ScoreOf {
  const match = JSON.stringify(settings);
  return (counted, item) => {
    const { id } = item.recording;
    return kept.of(`score ${counted.session.id} ${id}`, [counted, item, match], () =>
      reviewedScore(scoreReview(item, counted.recordings.get(id)!, settings), item, counted.groundsOf(id)),
    );
  };
}

function secondPass(
  reviews: readonly CountedReview[],
  second: SecondDetector,
  { match }: ReportSettings,
  scoreOf: ScoreOf,
): SecondDetectorPass {
  return secondDetectorPass(
    reviews.flatMap(counted => secondDetectorRows(counted, second, match, item => scoreOf(counted, item))),
  );
}

function segmentRows(counted: CountedReview, scoreOf: ScoreOf): SegmentRow[] {
  return counted.session.recordings.flatMap(item => {
    const { id, recorder, samplingRateHz } = item.recording;
    const review = counted.recordings.get(id)!;
    return scoreOf(counted, item).segments.map(({ segment, counts, standing }): SegmentRow => {
      const { share, by } = lookedAt(item, counted.lookers, segment);
      const signOff = review.signOffs.find(s => s.segment === segment.name);
      return {
        session: counted.session.id,
        volunteer: counted.session.participant,
        recordingId: id,
        recorder,
        activity: segment.name,
        source: counted.source,
        startSeconds: segment.start / samplingRateHz,
        endSeconds: segment.end / samplingRateHz,
        counts: {
          judged: counts.judged,
          right: counts.right,
          lost: counts.lost,
          lostUnreadable: counts.lostUnreadable,
          lostNoSignal: counts.lostNoSignal,
          wrongByMissed: counts.wrongByMissed,
          wrongByWrongPeak: counts.wrongByWrongPeak,
          wrongByExtra: counts.wrongByExtra,
          missed: counts.missed,
          wrongPeak: counts.wrongPeak,
          extra: counts.extra,
        },
        coverageShare: share,
        coverageBy: by,
        standing,
        signedOff: signOff !== undefined,
        signOffReason: signOff?.reason ?? null,
        otherTraceUsed: evidenceIn(review, segment),
      };
    });
  });
}

/** Activities in the order of the study's template, then as they come; recorders as the sessions list them. */
function namesOf({ study }: ReportInput, reviews: readonly CountedReview[]) {
  const items = reviews.flatMap(r => r.session.recordings);
  const present = new Set(items.flatMap(item => segmentsUnderReview(item).map(s => s.name)));
  const template = (study?.segmentTemplate ?? []).filter(name => present.has(name));
  return {
    volunteers: [...new Set(reviews.map(r => r.session.participant))],
    recorders: [...new Set(items.map(item => item.recording.recorder))],
    activities: [...new Set([...template, ...present])],
  };
}

/** In the order in which the tables show them. */
function cellsOf(
  rows: readonly SegmentRow[],
  names: { recorders: readonly string[]; activities: readonly string[] },
): StudyCell[] {
  const place = (row: SegmentRow) =>
    names.recorders.indexOf(row.recorder) * 1000 + names.activities.indexOf(row.activity);
  return rows
    .filter(row => row.standing.status === 'final')
    .sort((a, b) => place(a) - place(b))
    .map(({ volunteer, recorder, activity, counts }) => ({
      volunteer,
      recorder,
      activity,
      counts,
    }));
}

function sessionRow(
  { session, logs }: ReplayedSession,
  reviews: readonly CountedReview[],
  damagedLogs: number,
): SessionTableRow {
  const done = logs.filter(({ replayed }) => replayed.finished).map(({ log }) => log);
  const finished = done.map(log => log.header);
  return {
    session: session.id,
    volunteer: session.participant,
    source: reviews.find(r => r.session === session)?.source ?? null,
    finishedRaters: done.filter(log => log.header.role === 'rater').map(raterLabel),
    settled: finished.some(h => h.role === 'adjudicator'),
    ...(damagedLogs > 0 ? { damagedLogs } : {}),
    recordings: session.recordings.map(({ recording, detected, detectedBy, segments }) => ({
      id: recording.id,
      recorder: recording.recorder,
      samplingRateHz: recording.samplingRateHz,
      seconds: recording.sampleCount / recording.samplingRateHz,
      startedAt: recording.startedAt,
      source: recording.source,
      origin: recording.origin ?? null,
      detectedBy,
      detectedMarks: detected.length,
      segments: segments.length,
    })),
  };
}
