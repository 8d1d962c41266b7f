import type { ClockAlignment } from '../agreement/clock';
import type { MatchSettings } from '../marks/match';
import { evidenceIn } from '../review/places/evidence';
import { leavesOut, leavingClocks, leavingSessions, leavingStudy } from '../review/privacy/leaving-study';
import { raterLabel } from '../review/raters/blind';
import type { DriftWeek } from '../review/raters/drift';
import type { ReviewedSession, SessionRecording } from '../review/session';
import { segmentsUnderReview } from '../review/standing/coverage';
import { lookedAt } from '../review/standing/looked-at';
import { type ReviewedScore, reviewedScore } from '../review/standing/reviewed-score';
import { scoreReview } from '../review/standing/score-review';
import type { Study } from '../review/study/study';
import { type AuditRow, auditTable } from './audit';
import { cautionsOf, multiplicityCaution } from './cautions';
import { type CountedReview, countedReview, type ReplayedSession, replaySession } from './counted-review';
import { type DrawnStrip, type ExampleStrip, exampleStrips } from './example-strips';
import { finalItems } from './final-segments';
import { type FlowStep, reportFlow } from './flow';
import { type HrvCurves, type HrvEffect, type HrvSummaryRow, hrvOfRecording, hrvSummaryTable } from './hrv-effects';
import { KeptWork } from './kept-work';
import { type MethodsPart, methodsText } from './methods-text';
import {
  type AgreementOfPair,
  compareAhead,
  comparedRecorders,
  type DetectedComparison,
} from './pairs/compared-recorders';
import type { ClockFacts } from './pairs/recorder-pairs';
import type { StudyCell } from './quality-table';
import { type AllRaters, allRaters } from './raters/all-raters';
import { type RaterAgreement, raterAgreement } from './raters/rater-agreement';
import { ratersByWeek } from './raters/raters-by-week';
import type { ReportSettings, SegmentRow, SessionRow } from './rows';
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

export const reportFormat = 'beat-ledger report';
export const reportFormatVersion = 1;

export interface ReportInput {
  readonly title: string;
  /** Null for a report on sessions that belong to no study. */
  readonly study: Study | null;
  readonly sessions: readonly ReviewedSession[];
  readonly settings: ReportSettings;
  /** Clocks found by earlier reports, by `clockKey`; new ones are put in. The numbers are the same with and without. */
  readonly foundClocks?: Map<string, ClockAlignment>;
  /** Parts of earlier reports, which are not worked out again where nothing they depend on has changed. */
  readonly kept?: KeptWork;
  /** Where the settings ask for the second detector: what it found in each recording, from the signal alone. */
  readonly second?: SecondDetector;
  /** Called now and then with the share of the work that is done, in [0, 1]. */
  readonly onProgress?: (share: number) => void;
}

export interface ReportData {
  readonly format: typeof reportFormat;
  readonly formatVersion: typeof reportFormatVersion;
  readonly writtenBy: string;
  readonly title: string;
  readonly study: Study | null;
  readonly settings: ReportSettings;
  readonly volunteers: readonly string[];
  readonly recorders: readonly string[];
  readonly activities: readonly string[];
  /** Volunteers and hours step by step, with what each step lost. */
  readonly flow: readonly FlowStep[];
  readonly sessions: readonly SessionRow[];
  readonly segments: readonly SegmentRow[];
  readonly methods: readonly MethodsPart[];
  readonly numbers: StudyNumbers;
  /** The quality with other tolerances of the matching. */
  readonly tolerances: readonly ToleranceRow[];
  /** Where reviews are samples: full and sampled ones together, each named. */
  readonly sampled: readonly SampledRow[];
  /** How far the reviews lean on the marks they started from; null where the second detector was not asked. */
  readonly secondDetector: SecondDetectorPass | null;
  /** Each recorder as detected against its reviewed beats, then pairs of recorders as detected. */
  readonly asDetected: readonly DetectedComparison[];
  /** Of those intervals alone that both recorders of a pair have. */
  readonly agreement: readonly AgreementOfPair[];
  readonly clocks: readonly ClockFacts[];
  readonly raters: RaterAgreement;
  /** By rater and week of signing off; empty where nobody was compared with anybody. */
  readonly ratersByWeek: readonly DriftWeek[];
  /** Null when no recording has two finished reviews. */
  readonly allRaters: AllRaters | null;
  readonly hrv: { readonly effects: readonly HrvEffect[]; readonly summary: readonly HrvSummaryRow[] };
  readonly curves: readonly HrvCurves[];
  readonly examples: readonly DrawnStrip[];
  readonly audit: readonly AuditRow[];
  readonly cautions: readonly string[];
}

/** Where the signal of an example strip is found: names as in the sessions that were given. */
interface StripPlace {
  readonly session: string;
  readonly recordingId: string;
}

/** What `reportData` answers first: all but the signal of the example strips, which the caller reads. */
export interface PreparedReport {
  readonly data: ReportData;
  readonly strips: readonly ExampleStrip[];
  /** One for each strip. */
  readonly places: readonly StripPlace[];
}

/** The input with everything left out that its settings say; `places` finds a strip's recording in what was given. */
function asItLeaves(given: ReportInput): { input: ReportInput; placeOf: (strip: ExampleStrip) => StripPlace } {
  const { handling } = given.settings;
  if (!handling || !leavesOut(handling))
    return { input: given, placeOf: ({ session, recordingId }) => ({ session, recordingId }) };
  const { all, sessions } = leavingSessions(given.study, given.sessions, handling);
  const clocks = leavingClocks(given.settings.clocks, all, handling);
  const study = given.study && leavingStudy(given.study, all, handling);
  // Clocks that were found before are kept under the ids and hashes of the whole sessions.
  const { foundClocks: _, ...rest } = given;
  const title = handling.codes === 'keep' ? given.title : titleOf(study, sessions);
  const second = given.second && leavingClocks(given.second, all, handling);
  const input = {
    ...rest,
    title,
    study,
    sessions,
    settings: { ...given.settings, clocks },
    ...(second ? { second } : {}),
  };
  return {
    input,
    placeOf: strip => {
      const i = sessions.findIndex(s => s.session.id === strip.session);
      const { session } = given.sessions[i]!;
      const found = session.recordings.find(r => sessions[i]!.names.recording(r.recording.id) === strip.recordingId)!;
      return { session: session.id, recordingId: found.recording.id };
    },
  };
}

function titleOf(study: Study | null, sessions: readonly ReviewedSession[]): string {
  const [only, second] = sessions;
  return study?.title ?? (only && !second ? only.session.title : 'Report on R-peak marks');
}

/** What is worked out session by session. */
function bySession(input: ReportInput, kept: KeptWork) {
  const { settings, study } = input;
  const { includeUnfinished } = settings;
  const countedRater = study?.countedRater || null;
  const sessions = [...input.sessions]
    .sort((a, b) => compare(a.session.participant, b.session.participant) || compare(a.session.id, b.session.id))
    .map(withProgress(input, 0, s => kept.of(`replayed ${s.session.id}`, [s], () => replaySession(s))));
  const counted = (s: ReplayedSession) =>
    kept.of(`counted ${s.session.id}`, [s, includeUnfinished, countedRater], () =>
      countedReview(s, includeUnfinished, countedRater),
    );
  const reviews = sessions.flatMap(s => counted(s) ?? []);
  const scores = scoresOf(settings.match, kept);
  const match = JSON.stringify(settings.match);
  const segmentsOf = (c: CountedReview) =>
    kept.of(`segments ${c.session.id}`, [c, match], () => segmentRows(c, scores));
  const hrvOfSession = (c: CountedReview) =>
    kept.of(`HRV ${c.session.id}`, [c], () => finalItems(c).flatMap(item => hrvOf(c, item)));
  return {
    sessions,
    countedRater,
    reviews,
    scores,
    segments: reviews.flatMap(withProgress(input, 0.1, segmentsOf)),
    hrv: reviews.flatMap(withProgress(input, 0.2, hrvOfSession)),
    audit: sessions.flatMap(s => kept.of(`audit ${s.session.id}`, [s], () => auditTable([s]))),
  };
}

/**
 * What of a report hangs on one session alone, worked out ahead: the report then finds it in `kept`. `input` is that of the
 * report; what it leaves out must be nothing.
 */
export function workOutAhead(input: ReportInput & { readonly kept: KeptWork }, session: ReviewedSession): void {
  const { reviews } = bySession({ ...input, sessions: [session] }, input.kept);
  for (const counted of reviews) compareAhead(counted, input);
}

export function reportData(given: ReportInput): PreparedReport {
  const { input, placeOf } = asItLeaves(given);
  const { settings, kept = new KeptWork() } = input;
  const { bootstrap } = settings.statistics;
  const match = JSON.stringify(settings.match);
  const { sessions, countedRater, reviews, scores, segments, hrv, audit } = bySession(input, kept);
  const names = namesOf(input, reviews);
  const effects = hrv.map(h => h.effect);
  const compared = comparedRecorders(reviews, names.recorders, { ...input, kept });
  const rows = sessions.map(s => sessionRow(s, reviews));
  const enrolled = input.study?.sessions ?? rows.map(s => s.session);
  const cells = cellsOf(segments, names);
  const parts = {
    sessions: rows,
    flow: reportFlow({ enrolled, sessions: rows, segments, countedRater }),
    segments,
    sampled: sampledTable(segments),
    numbers: kept.of('numbers', [JSON.stringify(cells), JSON.stringify(settings.statistics)], () =>
      studyNumbers({ cells, agreement: [] }, settings.statistics),
    ),
    raters: kept.of('raters', [match, ...sessions], () => raterAgreement(sessions, settings.match)),
    clocks: compared.clocks,
  };
  const { raters } = parts;
  const secondDetector = input.second ? secondPass(reviews, input.second, settings, scores) : null;
  const data: ReportData = {
    format: reportFormat,
    formatVersion: reportFormatVersion,
    writtenBy: `${appName} ${appVersion}`,
    title: input.title,
    study: input.study,
    settings,
    ...names,
    ...parts,
    methods: methodsText({ ...input, ...names, ...parts, effects, audit, secondDetector }),
    ratersByWeek: kept.of('weeks', [raters, ...sessions], () =>
      raters.total ? ratersByWeek(sessions, raters.rows) : [],
    ),
    allRaters: kept.of('all raters', [raters, JSON.stringify(bootstrap)], () => allRaters(raters.rows, bootstrap)),
    tolerances: kept.of('tolerances', [match, bootstrap.level, ...reviews, ...segments], () =>
      toleranceTable(
        reviews,
        segments.filter(row => row.standing.status === 'final'),
        settings.match,
        bootstrap.level,
      ),
    ),
    secondDetector,
    asDetected: compared.asDetected,
    agreement: compared.agreement,
    hrv: { effects, summary: hrvSummaryTable(effects, names.activities) },
    curves: hrv.map(h => h.curves),
    examples: [],
    audit,
    cautions: [...cautionsOf(parts.sessions, segments, secondDetector), ...multiplicityCaution(parts.numbers)],
  };
  const strips = exampleStrips(reviews, scores);
  kept.finish();
  return { data, strips, places: strips.map(placeOf) };
}

/** `work` on each of a list, reporting from which share of the whole report on it counts. */
function withProgress<T, R>(
  { onProgress, sessions }: ReportInput,
  from: number,
  work: (one: T) => R,
): (one: T, i: number) => R {
  const span = from < 0.2 ? 0.1 : 0.4;
  return (one, i) => {
    const made = work(one);
    onProgress?.(from + (span * (i + 1)) / sessions.length);
    return made;
  };
}

export function withStrips(
  { data, strips }: Pick<PreparedReport, 'data' | 'strips'>,
  millivolts: readonly (readonly number[])[],
): ReportData {
  return { ...data, examples: strips.map((strip, i) => ({ ...strip, millivolts: millivolts[i] ?? [] })) };
}

function hrvOf({ session, recordings }: CountedReview, item: SessionRecording) {
  const head = { session: session.id, volunteer: session.participant };
  return hrvOfRecording(head, item, recordings.get(item.recording.id)!);
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

function sessionRow({ session, logs }: ReplayedSession, reviews: readonly CountedReview[]): SessionRow {
  const done = logs.filter(({ replayed }) => replayed.finished).map(({ log }) => log);
  const finished = done.map(log => log.header);
  return {
    session: session.id,
    volunteer: session.participant,
    source: reviews.find(r => r.session === session)?.source ?? null,
    finishedRaters: done.filter(log => log.header.role === 'rater').map(raterLabel),
    settled: finished.some(h => h.role === 'adjudicator'),
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
