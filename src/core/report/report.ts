import { alignClocks, type ClockAlignment } from '../agreement/clock';
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
import { withFinalInBoth, withFinalSegments } from './final-segments';
import { type FlowStep, reportFlow } from './flow';
import { type HrvCurves, type HrvEffect, type HrvSummaryRow, hrvOfRecording, hrvSummaryTable } from './hrv-effects';
import { type MethodsPart, methodsText } from './methods-text';
import { cellsAgainstReference, cellsOfPair, type DetectedCell } from './pairs/as-detected';
import { type DetectedRow, detectedAgreement } from './pairs/detected-agreement';
import { type AgreementCell, type AgreementRow, agreementTable } from './pairs/recorder-agreement';
import { agreementCells, type ClockFacts, clockOf } from './pairs/recorder-pairs';
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
  /** Where the settings ask for the second detector: what it found in each recording, from the signal alone. */
  readonly second?: SecondDetector;
  /** Told now and then which share of the work is done, in [0, 1]. */
  readonly onProgress?: (share: number) => void;
}

/** What two clocks are found from: the log's last hash stands for its whole review and the detected marks under it. */
function clockKey({ log, session }: CountedReview, recordings: readonly [string, string]): string | null {
  const last = log.entries.at(-1);
  return last ? [session.id, last.hash, ...recordings].join(' ') : null;
}

export interface AgreementOfPair {
  readonly first: string;
  readonly second: string;
  readonly rows: readonly AgreementRow[];
  /** Differences and means of the measures that are drawn: one point a pair of values. */
  readonly points: readonly AgreementCell[];
}

/** One recorder as detected, against its reviewed beats (`second` null) or another as detected. */
export interface DetectedComparison {
  readonly first: string;
  readonly second: string | null;
  readonly rows: readonly DetectedRow[];
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

export function reportData(given: ReportInput): PreparedReport {
  const { input, placeOf } = asItLeaves(given);
  const sessions = [...input.sessions]
    .sort((a, b) => compare(a.session.participant, b.session.participant) || compare(a.session.id, b.session.id))
    .map(told(input, 0, replaySession));
  const countedRater = input.study?.countedRater || null;
  const reviews = sessions.flatMap(s => countedReview(s, input.settings.includeUnfinished, countedRater) ?? []);
  const scores = scoresOf(input.settings.match);
  const segments = reviews.flatMap(told(input, 0.1, counted => segmentRows(counted, scores)));
  const names = namesOf(input, reviews);
  const hrv = reviews.flatMap(told(input, 0.2, counted => finalItems(counted).flatMap(item => hrvOf(counted, item))));
  const effects = hrv.map(h => h.effect);
  const paired = pairsOf(reviews, input, input.foundClocks ?? new Map());
  const rows = sessions.map(s => sessionRow(s, reviews));
  const enrolled = input.study?.sessions ?? rows.map(s => s.session);
  const parts = {
    sessions: rows,
    flow: reportFlow({ enrolled, sessions: rows, segments, countedRater }),
    segments,
    sampled: sampledTable(segments),
    numbers: studyNumbers({ cells: cellsOf(segments, names), agreement: [] }, input.settings.statistics),
    raters: raterAgreement(sessions, input.settings.match),
    clocks: paired.clocks,
  };
  const audit = auditTable(sessions);
  const secondDetector = input.second ? secondPass(reviews, input.second, input.settings, scores) : null;
  const data: ReportData = {
    format: reportFormat,
    formatVersion: reportFormatVersion,
    writtenBy: `${appName} ${appVersion}`,
    title: input.title,
    study: input.study,
    settings: input.settings,
    ...names,
    ...parts,
    methods: methodsText({ ...input, ...names, ...parts, effects, audit, secondDetector }),
    ratersByWeek: parts.raters.total ? ratersByWeek(sessions, parts.raters.rows) : [],
    allRaters: allRaters(parts.raters.rows, input.settings.statistics.bootstrap),
    tolerances: toleranceTable(
      reviews,
      segments.filter(row => row.standing.status === 'final'),
      input.settings.match,
      input.settings.statistics.bootstrap.level,
    ),
    secondDetector,
    asDetected: [...againstReference(reviews, names.recorders, input.settings), ...paired.asDetected],
    agreement: paired.agreement,
    hrv: { effects, summary: hrvSummaryTable(effects, names.activities) },
    curves: hrv.map(h => h.curves),
    examples: [],
    audit,
    cautions: [...cautionsOf(parts.sessions, segments, secondDetector), ...multiplicityCaution(parts.numbers)],
  };
  const strips = exampleStrips(reviews, scores);
  return { data, strips, places: strips.map(placeOf) };
}

/** `work` on each of a list, telling from which share of the whole report on it counts. */
function told<T, R>(
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

/** The recordings with their final segments: whatever is pooled over volunteers comes from these. */
const finalItems = (counted: CountedReview) =>
  counted.session.recordings.flatMap(item => withFinalSegments(counted, item) ?? []);

function hrvOf({ session, recordings }: CountedReview, item: SessionRecording) {
  const head = { session: session.id, volunteer: session.participant };
  return hrvOfRecording(head, item, recordings.get(item.recording.id)!);
}

const compare = (a: string, b: string) => (a < b ? -1 : a > b ? 1 : 0);

type ScoreOf = (counted: CountedReview, item: SessionRecording) => ReviewedScore;

/** Each recording is scored once, with the report's settings. */
function scoresOf(settings: MatchSettings): ScoreOf {
  const known = new Map<SessionRecording, ReviewedScore>();
  return (counted, item) => {
    const review = counted.recordings.get(item.recording.id)!;
    const score =
      known.get(item) ?? reviewedScore(scoreReview(item, review, settings), item, counted.groundsOf(item.recording.id));
    known.set(item, score);
    return score;
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

/**
 * Recordings of other recorders beside one of the session's first recorder. Where each activity is a recording of its own,
 * those of the same activity belong together.
 */
function wornTogether(items: readonly SessionRecording[]): [SessionRecording, SessionRecording][] {
  const isFirst = (item: SessionRecording) => item.recording.recorder === items[0]!.recording.recorder;
  const firsts = items.filter(isFirst);
  const names = (item: SessionRecording) => new Set(segmentsUnderReview(item).map(s => s.name));
  return items.flatMap(other => {
    if (isFirst(other)) return [];
    const own = names(other);
    const beside = firsts.length === 1 ? firsts[0] : firsts.find(f => [...names(f)].some(name => own.has(name)));
    return beside ? [[beside, other] as [SessionRecording, SessionRecording]] : [];
  });
}

/** Cells of one pair of recorders over all sessions. */
interface PairCells {
  readonly first: string;
  readonly second: string;
  readonly cells: AgreementCell[];
  readonly detected: DetectedCell[];
}

/** Each recorder's own mistakes: what it detected against the reviewed beats of the same trace. */
function againstReference(
  reviews: readonly CountedReview[],
  recorders: readonly string[],
  { statistics }: ReportSettings,
): DetectedComparison[] {
  return recorders.map(first => {
    const cells = reviews.flatMap(counted =>
      finalItems(counted)
        .filter(item => item.recording.recorder === first)
        .flatMap(item => cellsAgainstReference(counted, item)),
    );
    return { first, second: null, rows: detectedAgreement(cells, statistics.bootstrap, statistics.margins) };
  });
}

/** Every pair of recorders worn together, first by the order of each session's list. */
function pairsOf(reviews: readonly CountedReview[], input: ReportInput, found: Map<string, ClockAlignment>) {
  const { settings } = input;
  const clocks: ClockFacts[] = [];
  const cells = new Map<string, PairCells>();
  for (const [i, counted] of reviews.entries()) {
    input.onProgress?.(0.6 + (0.3 * i) / reviews.length);
    for (const [reference, other] of wornTogether(counted.session.recordings)) {
      const given = settings.clocks[counted.session.id]?.[other.recording.id];
      const key = clockKey(counted, [reference.recording.id, other.recording.id]);
      const facts = clockOf(counted, reference, other, given, (a, b) => {
        const fit = (key && found.get(key)) || alignClocks(a, b);
        if (key) found.set(key, fit);
        return fit;
      });
      clocks.push(facts);
      const names = `${facts.first}\n${facts.second}`;
      const pair = cells.get(names) ?? { first: facts.first, second: facts.second, cells: [], detected: [] };
      const final = withFinalInBoth(counted, reference, other);
      if (facts.clock && final) {
        pair.cells.push(...agreementCells(counted, final, other, facts.clock));
        pair.detected.push(...cellsOfPair(counted, final, other, facts.clock));
      }
      cells.set(names, pair);
    }
  }
  const agreement = [...cells.values()].map(pair => ({
    first: pair.first,
    second: pair.second,
    rows: agreementTable(pair.cells, settings.statistics.bootstrap),
    points: pair.cells.filter(c => c.measure !== 'rr'),
  }));
  const { bootstrap, margins } = settings.statistics;
  const asDetected = [...cells.values()].map(pair => ({
    first: pair.first,
    second: pair.second,
    rows: detectedAgreement(pair.detected, bootstrap, margins),
  }));
  return { clocks, agreement, asDetected };
}
