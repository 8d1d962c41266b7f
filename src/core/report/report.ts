import { leavesOut, leavingClocks, leavingSessions, leavingStudy } from '../review/privacy/leaving-study';
import type { DriftWeek } from '../review/raters/drift';
import type { ReviewedSession } from '../review/session';
import type { Study } from '../review/study/study';
import { type AuditRow, auditTable } from './audit';
import {
  type Begun,
  begin,
  beginningOf,
  type ReportBeginning,
  type ReportInput,
  shares,
  withProgress,
} from './beginning';
import type { CountedReview } from './counted-review';
import { type DrawnStrip, type ExampleStrip, exampleStrips } from './example-strips';
import { type HrvCurves, type HrvEffect, type HrvSummaryRow, hrvOfSegment, hrvSummaryTable } from './hrv-effects';
import { KeptWork } from './kept-work';
import {
  type AgreementOfPair,
  compareAhead,
  comparedRecorders,
  type DetectedComparison,
} from './pairs/compared-recorders';
import { type AllRaters, allRaters } from './raters/all-raters';
import { ratersByWeek } from './raters/raters-by-week';

export const reportFormat = 'beat-ledger report';
export const reportFormatVersion = 1;

export interface ReportData extends ReportBeginning {
  readonly format: typeof reportFormat;
  readonly formatVersion: typeof reportFormatVersion;
  /** Each recorder as detected against its reviewed beats, then pairs of recorders as detected. */
  readonly asDetected: readonly DetectedComparison[];
  /** Of those intervals alone that both recorders of a pair have. */
  readonly agreement: readonly AgreementOfPair[];
  /** By rater and week of signing off; empty where nobody was compared with anybody. */
  readonly ratersByWeek: readonly DriftWeek[];
  /** Null when no recording has two finished reviews. */
  readonly allRaters: AllRaters | null;
  readonly hrv: { readonly effects: readonly HrvEffect[]; readonly summary: readonly HrvSummaryRow[] };
  readonly curves: readonly HrvCurves[];
  readonly examples: readonly DrawnStrip[];
  readonly audit: readonly AuditRow[];
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
  const damagedIn = ({ session }: ReviewedSession) => given.damagedLogs?.get(session.id) ?? 0;
  const input = {
    ...rest,
    title,
    study,
    sessions,
    settings: { ...given.settings, clocks },
    ...(given.damagedLogs
      ? { damagedLogs: new Map(sessions.map((s, i) => [s.session.id, damagedIn(given.sessions[i]!)])) }
      : {}),
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

/** What hangs on one session alone beside the beginning. */
function bySession({ sessions, reviews, seriesOf }: Begun, input: ReportInput, kept: KeptWork) {
  const hrvOfSession = (c: CountedReview) =>
    kept.of(`HRV ${c.session.id}`, [c], () => seriesOf(c).map(s => hrvOfSegment(c.session, s)));
  return {
    hrv: reviews.flatMap(withProgress(input, shares.hrv, hrvOfSession)),
    audit: sessions.flatMap(s => kept.of(`audit ${s.session.id}`, [s], () => auditTable([s]))),
  };
}

/**
 * What of a report hangs on one session alone, worked out ahead: the report then finds it in `kept`. `input` is that of the
 * report; what it leaves out must be nothing.
 */
export function workOutAhead(input: ReportInput & { readonly kept: KeptWork }, session: ReviewedSession): void {
  const own = { ...input, sessions: [session] };
  const begun = begin(own, input.kept);
  bySession(begun, own, input.kept);
  for (const counted of begun.reviews) compareAhead(counted, input);
}

export function reportData(given: ReportInput): PreparedReport {
  const { input, placeOf } = asItLeaves(given);
  const { settings, kept = new KeptWork() } = input;
  const { bootstrap } = settings.statistics;
  const begun = begin(input, kept);
  const { sessions, reviews, scores } = begun;
  const beginning = beginningOf(begun, input, kept);
  input.onBeginning?.(beginning);
  const { raters } = beginning;
  const { hrv, audit } = bySession(begun, input, kept);
  const effects = hrv.map(h => h.effect);
  const { agreement, asDetected } = comparedRecorders(reviews, beginning.recorders, {
    ...input,
    kept,
    onProgress: share => input.onProgress?.(shares.pairs[0] + (shares.pairs[1] - shares.pairs[0]) * share),
  });
  const data: ReportData = {
    format: reportFormat,
    formatVersion: reportFormatVersion,
    ...beginning,
    ratersByWeek: kept.of('weeks', [raters, ...sessions], () =>
      raters.total ? ratersByWeek(sessions, raters.rows) : [],
    ),
    allRaters: kept.of('all raters', [raters, JSON.stringify(bootstrap)], () => allRaters(raters.rows, bootstrap)),
    asDetected,
    agreement,
    hrv: { effects, summary: hrvSummaryTable(effects, beginning.activities) },
    curves: hrv.map(h => h.curves),
    examples: [],
    audit,
  };
  const strips = exampleStrips(reviews, scores);
  kept.finish();
  return { data, strips, places: strips.map(placeOf) };
}

export function withStrips(
  { data, strips }: Pick<PreparedReport, 'data' | 'strips'>,
  millivolts: readonly (readonly number[])[],
): ReportData {
  return { ...data, examples: strips.map((strip, i) => ({ ...strip, millivolts: millivolts[i] ?? [] })) };
}
