import type { AuditRow } from '../../core/report/audit';
import type { Planning, PlanningPoint } from '../../core/report/plans/planning';
import type { AllRatersRow } from '../../core/report/raters/all-raters';
import type { RaterAgreementRow, RepeatedRating } from '../../core/report/raters/rater-agreement';
import type { ReportData } from '../../core/report/report';
import type { DriftWeek } from '../../core/review/raters/drift';
import { settingRows } from '../settings';
import { type Column, type DataTable, dataTable } from './column';
import {
  booted,
  ends,
  notComputableBecause,
  recorderAndActivity,
  recorderColumn,
  sessionAndVolunteer,
} from './shared-columns';

const raterColumns: readonly Column<RaterAgreementRow>[] = [
  ...sessionAndVolunteer,
  recorderColumn,
  ['rater_a', 'text', r => r.raterA, 'code of the first rater'],
  ['rater_b', 'text', r => r.raterB, 'code of the second rater'],
  ['repeated_by', 'text', r => r.repeatedBy ?? '', 'the rater, where both reviews are of one rater at two times'],
  recorderAndActivity[1]!,
  ['beats_a', 'count', r => r.beatsA, 'beats of rater A'],
  ['beats_b', 'count', r => r.beatsB, 'beats of rater B'],
  ['agreed', 'count', r => r.agreed, 'beats that both have at the same place'],
  ['placed_apart', 'count', r => r.placedApart, 'beats that both have, at different places'],
  ['only_a', 'count', r => r.onlyA, 'beats that only rater A has'],
  ['only_b', 'count', r => r.onlyB, 'beats that only rater B has'],
  ['f1', 'number', r => r.f1.value, '2 x agreed beats / beats of both raters'],
  ['kappa', 'number', r => r.kappa.value, 'Cohen’s kappa on the verdict of each detected mark'],
  ...ends<RaterAgreementRow>(
    'kappa',
    'number',
    r => (r.kappa.value === null ? null : r.kappa.interval),
    '95 % interval of kappa, marks taken as independent',
  ),
  ['quality_a_percent', 'percent', r => r.qualityA.value, 'quality by the review of rater A'],
  ['quality_b_percent', 'percent', r => r.qualityB.value, 'quality by the review of rater B'],
  ['quality_difference_points', 'points', r => r.qualityDifference.value, 'quality by A less quality by B'],
  ['unreadable_jaccard', 'number', r => r.spanJaccard.value, 'overlap of the unreadable stretches, Jaccard’s index'],
  [
    'compared_s',
    'seconds',
    r => r.overSeconds,
    'time that both have looked at, of a sampled review; empty: all of the segment',
  ],
];

const repeatedColumns: readonly Column<RepeatedRating>[] = [
  ['rater', 'text', r => r.rater, 'code of the rater'],
  ['volunteers', 'count', r => r.volunteers, 'volunteers rated again'],
  ['recordings', 'count', r => r.recordings, 'recordings rated again'],
  ['agreed', 'count', r => r.agreed, 'beats that both ratings have at the same place'],
  ['placed_apart', 'count', r => r.placedApart, 'beats that both ratings have, at different places'],
  ['only_first', 'count', r => r.onlyFirst, 'beats that only the first rating has'],
  ['only_later', 'count', r => r.onlyLater, 'beats that only the later rating has'],
  ['f1', 'number', r => r.f1.value, '2 x agreed beats / beats of both ratings'],
  ['kappa', 'number', r => r.kappa.value, 'Cohen’s kappa on the verdict of each detected mark'],
  ...ends<RepeatedRating>(
    'kappa',
    'number',
    r => (r.kappa.value === null ? null : r.kappa.interval),
    '95 % interval of kappa over volunteers',
  ),
  ['quality_change_points', 'points', r => r.qualityChange.value, 'quality by the later rating less that by the first'],
  notComputableBecause(r => r.kappa),
];

export const repeatedCsv = ({ raters }: ReportData): DataTable =>
  dataTable('finished reviews of one recording by one rater at two times', repeatedColumns, raters.repeated);

const weekColumns: readonly Column<DriftWeek>[] = [
  ['rater', 'text', w => w.rater, 'code of the rater'],
  ['week', 'text', w => w.week, 'week of signing off, ISO 8601'],
  ['sessions', 'count', w => w.sessions, 'reviews signed off'],
  [
    'quality_difference_points',
    'points',
    w => w.qualityDifference.value,
    'own quality less the other rater’s, mean over sessions',
  ],
  ['f1', 'number', w => w.f1.value, 'F1 with the other rater, all sessions together'],
  ['kappa', 'number', w => w.kappa.value, 'kappa with the other rater, mean over sessions'],
  ['minutes_per_hour', 'number', w => w.pace.value, 'minutes at work for an hour of recording'],
  notComputableBecause(w => w.qualityDifference),
];

export const weeksCsv = ({ ratersByWeek }: ReportData): DataTable =>
  dataTable('the logs of the finished reviews', weekColumns, ratersByWeek);

export const ratersCsv = ({ raters }: ReportData): DataTable =>
  dataTable('two finished reviews of one recording', raterColumns, raters.rows);

const allRatersColumns: readonly Column<AllRatersRow>[] = [
  ['measure', 'text', r => r.measure, 'measure of agreement of all raters on the verdict of each detected mark'],
  ...booted<AllRatersRow>('value', 'number', r => r.result, 'the measure over all pairs of raters'),
  ...ends<AllRatersRow>(
    'value_clustered',
    'number',
    r => (r.clustered && r.clustered.value !== null ? r.clustered.interval : null),
    'interval of Fleiss’ kappa over volunteers in closed form',
  ),
  notComputableBecause(r => r.result),
];

export const allRatersCsv = ({ allRaters }: ReportData): DataTable =>
  dataTable('finished reviews of recordings with two or more', allRatersColumns, allRaters?.rows ?? []);

/** One number of volunteers in the planning of one recorder. */
export interface PlanningRow {
  readonly recorder: string;
  readonly plan: Planning;
  readonly point: PlanningPoint;
}

export const planningRows = ({ numbers }: ReportData): PlanningRow[] =>
  numbers.planning.flatMap(({ recorder, plan }) => plan.curve.map(point => ({ recorder, plan, point })));

export const planningPointColumns: readonly Column<PlanningRow>[] = [
  ['volunteers', 'count', r => r.point.volunteers, 'volunteers of the simulated studies'],
  ['median_width_percent', 'points', r => r.point.medianWidthPercent, 'median width of their intervals'],
  ['share_within', 'share', r => r.point.shareWithin, 'share of the studies that are narrow enough'],
];

export const planningSource = 'simulated studies of the volunteers at hand';

const planningColumns: readonly Column<PlanningRow>[] = [
  recorderColumn,
  ['needed', 'count', r => r.plan.volunteers.value, 'volunteers that the wanted width takes'],
  ['or_fewer', 'flag', r => r.plan.orFewer, 'whether that is the smallest number tried, so that fewer may do'],
  ...planningPointColumns,
  notComputableBecause(r => r.plan.volunteers),
];

export const planningCsv = (data: ReportData): DataTable =>
  dataTable(planningSource, planningColumns, planningRows(data));

interface IntentRow extends AuditRow {
  readonly intent: string;
  readonly n: number;
}

const auditColumns: readonly Column<IntentRow>[] = [
  ...sessionAndVolunteer,
  ['rater', 'text', r => r.rater, 'whose log it is'],
  ['role', 'text', r => r.role, 'rater, adjudicator or learner'],
  ['finished', 'flag', r => r.finished, 'whether the review is signed off as a whole'],
  ['intent', 'text', r => r.intent, 'what the entries were for; all: every entry'],
  ['entries', 'count', r => r.n, 'entries of the log'],
];

const intentRows = (a: AuditRow): IntentRow[] =>
  [
    ...Object.entries(a.byIntent).sort(([x], [y]) => (x < y ? -1 : 1)),
    ['undone', a.undone] as const,
    ['reopened', a.reopened] as const,
    ['other trace used', a.otherTraceUsed] as const,
    ['all', a.entries] as const,
  ].map(([intent, n]) => ({ ...a, intent, n }));

export const auditCsv = ({ audit }: ReportData): DataTable =>
  dataTable('the logs of the reviews', auditColumns, audit.flatMap(intentRows));

const settingColumns: readonly Column<readonly [string, string]>[] = [
  ['setting', 'text', ([name]) => name, 'path of the setting in report.json'],
  ['value', 'text', ([, value]) => value, 'its value; none where it is empty'],
];

export const settingsCsv = (data: ReportData): DataTable =>
  dataTable('settings of the report and the study', settingColumns, settingRows(data));
