import { type ClusteredKappa, clusteredKappaMethod } from '../../core/agreement/clustered-kappa';
import type { ActsRow, AuditRow } from '../../core/report/audit';
import type { ReportBeginning } from '../../core/report/beginning';
import type { FlowStep } from '../../core/report/flow';
import { usualDriftPpm, usualEndErrorMs } from '../../core/report/pairs/clock-doubts';
import type { ClockFacts } from '../../core/report/pairs/recorder-pairs';
import { enoughOf100, measuredPlans } from '../../core/report/plans/measured-plans';
import { planningMethods } from '../../core/report/plans/planning';
import type { AllRaters, AllRatersRow } from '../../core/report/raters/all-raters';
import type { RaterAgreementRow, RepeatedRating } from '../../core/report/raters/rater-agreement';
import type { ReportData } from '../../core/report/report';
import type { SegmentRow, SessionTableRow } from '../../core/report/rows';
import type { DriftWeek } from '../../core/review/raters/drift';
import { notHere } from '../../core/review/standing/looked-at';
import { fixed, type NoteTaker, number, quality, sentence, withInterval } from '../numbers';
import { settingRows } from '../settings';
import { activityColumn, type PrintedColumn, type ReportTable, table } from './table';

interface ReviewRow {
  readonly session: SessionTableRow;
  readonly own: readonly SegmentRow[];
  readonly log: ActsRow | undefined;
}

const reviewColumns: readonly PrintedColumn<ReviewRow>[] = [
  ['volunteer', r => r.session.volunteer],
  ['counted review', (r, note) => r.session.source ?? note('no finished review')],
  ['finished raters', r => r.session.finishedRaters.join(', ') || 'none'],
  ['settled', r => (r.session.settled ? 'yes' : 'no')],
  ['segments', r => String(r.own.length)],
  ['looked at', (r, note) => lookedAtCell(r.own, note)],
  ['entries', r => String(r.log?.entries ?? 0)],
  ['other trace used', r => String(r.own.reduce((sum, row) => sum + row.otherTraceUsed, 0))],
];

export function reviewTable({ sessions, segments, audit }: ReportBeginning): ReportTable {
  return table(
    { id: 'reviews', caption: 'Volunteers and reviews' },
    reviewColumns,
    sessions.map(session => ({
      session,
      own: segments.filter(row => row.session === session.session),
      log: audit.find(a => a.session === session.session && a.source === session.source),
    })),
  );
}

const flowColumns: readonly PrintedColumn<FlowStep>[] = [
  ['step', s => s.step],
  ['volunteers', s => String(s.volunteers)],
  ['sessions', s => String(s.sessions)],
  ['recorded hours', s => (s.hours === null ? '–' : fixed(s.hours, 1))],
  ['left out here', s => s.lost.map(l => `${l.volunteer ?? l.session}: ${l.reason}`).join('; ') || 'none'],
];

export function flowTable({ flow }: ReportBeginning): ReportTable {
  return table({ id: 'flow', caption: 'Volunteers from enrolment to analysis' }, flowColumns, flow);
}

/** Mean over the segments, for each who looked. */
function lookedAtCell(own: readonly SegmentRow[], note: NoteTaker): string {
  if (own.length === 0) return '–';
  if (own.some(row => row.coverageShare === null)) return note(notHere);
  const raters = own[0]!.coverageBy.map(b => b.rater);
  const means = raters.map((_, i) => own.reduce((sum, row) => sum + row.coverageBy[i]!.share, 0) / own.length);
  if (raters.length === 1) return `${fixed(100 * means[0]!, 1)} %`;
  return raters.map((rater, i) => `${rater} ${fixed(100 * means[i]!, 1)} %`).join(', ');
}

const clockColumns: readonly PrintedColumn<ClockFacts>[] = [
  ['volunteer', c => c.volunteer],
  ['recorders', c => `${c.second} on ${c.first}`],
  ['offset, s', (c, note) => (c.clock ? fixed(c.clock.offsetSeconds, 3) : note(c.reason ?? ''))],
  ['drift, ppm', driftCell],
  ['from', c => c.clock?.from ?? '–'],
  ['beats of both', c => (c.clock ? String(c.pairs) : '–')],
  ['residual SD, ms', c => (c.clock && c.residualSdMs !== null ? fixed(c.residualSdMs, 1) : '–')],
];

function driftCell({ clock, driftErrorPpm: error }: ClockFacts): string {
  if (!clock) return '–';
  return error === null ? fixed(clock.driftPpm, 1) : `${fixed(clock.driftPpm, 1)} ± ${fixed(error, 1)}`;
}

export function clocksTable({ clocks }: ReportData): ReportTable {
  const caption = 'Clocks: second recorder against the first';
  return table({ id: 'clocks', caption, notes: driftNotes(clocks) }, clockColumns, clocks);
}

function driftNotes(clocks: ReportData['clocks']): string[] {
  const far = clocks.filter(c => c.clock && Math.abs(c.clock.driftPpm) > usualDriftPpm);
  const short = clocks.filter(c => (c.endErrorMs ?? 0) > usualEndErrorMs);
  return [
    ...(clocks.some(c => c.driftErrorPpm !== null)
      ? ['±: 95 % interval of the drift, residuals taken as independent, so it is rather wider.']
      : []),
    ...(far.length > 0
      ? [`Drift beyond ±${usualDriftPpm} ppm, check the sampling rates: ${far.map(c => c.volunteer).join(', ')}.`]
      : []),
    ...(short.length > 0
      ? [
          `Too few beats of both, or in too short a time, for this drift: ${short.map(c => `${c.volunteer} (up to ${fixed(c.endErrorMs!, 0)} ms off at an end)`).join(', ')}.`,
        ]
      : []),
  ];
}

const raterColumns: readonly PrintedColumn<RaterAgreementRow>[] = [
  ['volunteer, recorder', r => `${r.volunteer}, ${r.recorder}`],
  activityColumn,
  ['agreed', r => String(r.agreed)],
  ['only A, only B, apart', r => `${r.onlyA}, ${r.onlyB}, ${r.placedApart}`],
  ['F1', (r, note) => number(r.f1, 4, note)],
  ['kappa', ({ kappa: k }, note) => (k.value === null ? note(k.reason) : withInterval(k.value, k.interval, 2))],
  ['quality by A, by B, %', (r, note) => `${quality(r.qualityA, 2, note)}, ${quality(r.qualityB, 2, note)}`],
  ['Jaccard', (r, note) => number(r.spanJaccard, 3, note)],
  ['compared over', r => (r.overSeconds === null ? 'all' : `${r.overSeconds.toFixed(0)} s`)],
];

/** Each recording as a whole. */
export const ratersHeadline = ({ raters }: ReportData): ReportTable =>
  ratersTableOf(
    'raters',
    'Agreement of two raters on one recording',
    raters.rows.filter(r => r.activity === null && r.repeatedBy === null),
  );

export const ratersTable = ({ raters }: ReportData): ReportTable =>
  ratersTableOf('raters-by-activity', 'Agreement of raters on one recording, by activity', raters.rows);

const repeatedColumns: readonly PrintedColumn<RepeatedRating>[] = [
  ['rater', r => r.rater],
  ['recordings, volunteers', r => `${r.recordings}, ${r.volunteers}`],
  ['agreed', r => String(r.agreed)],
  ['only first, only later, apart', r => `${r.onlyFirst}, ${r.onlyLater}, ${r.placedApart}`],
  ['F1', (r, note) => number(r.f1, 4, note)],
  ['kappa', ({ kappa: k }, note) => (k.value === null ? note(k.reason) : clusteredCell(k, note))],
  ['quality later − first, points', (r, note) => number(r.qualityChange, 2, note)],
];

function clusteredCell(k: Extract<ClusteredKappa, { readonly value: number }>, note: NoteTaker): string {
  const value = withInterval(k.value, k.interval, 3);
  return k.interval ? value : `${value} (${note(k.intervalReason ?? 'no interval')})`;
}

/** What each rater who rated again found the second time. */
export function repeatedTable({ raters }: ReportData): ReportTable {
  return table(
    {
      id: 'raters-repeated',
      caption: 'Repeated rating: each rater’s later ratings against their first',
      notes: [
        `Kappa on the verdict of each detected mark, all recordings together; intervals over volunteers: ${clusteredKappaMethod}.`,
      ],
    },
    repeatedColumns,
    raters.repeated,
  );
}

const weekColumns: readonly PrintedColumn<DriftWeek>[] = [
  ['rater', w => w.rater],
  ['week', w => w.week],
  ['sessions', w => String(w.sessions)],
  ['quality, own − other, points', (w, note) => number(w.qualityDifference, 2, note)],
  ['F1', (w, note) => number(w.f1, 4, note)],
  ['kappa', (w, note) => number(w.kappa, 3, note)],
  ['minutes at work for an hour', (w, note) => number(w.pace, 0, note)],
];

export function weeksTable({ ratersByWeek }: ReportData): ReportTable {
  return table(
    {
      id: 'raters-by-week',
      caption: 'Raters over time, by week of signing off',
      rowHeads: 2,
      notes: [
        'Against the first other rater of the same sessions; the difference in quality and kappa are means over sessions. Weeks as in ISO 8601, times by the raters’ clocks, pauses of more than two minutes left out. Few sessions a week vary by chance.',
      ],
    },
    weekColumns,
    ratersByWeek,
  );
}

function ratersTableOf(id: string, caption: string, rows: readonly RaterAgreementRow[]): ReportTable {
  return table(
    {
      id,
      caption,
      rowHeads: 2,
      notes: [
        ...new Set(rows.map(r => `${r.volunteer}: A is ${r.raterA}, B is ${r.raterB}.`)),
        'Intervals of kappa here take the marks of a recording as independent.',
      ],
    },
    raterColumns,
    rows,
  );
}

const allRatersColumns: readonly PrintedColumn<AllRatersRow>[] = [
  ['measure', r => r.measure],
  [
    'value (interval)',
    ({ result: b, clustered: k }, note) => {
      if (b.value === null) return note(b.reason);
      return k && k.value !== null ? clusteredCell(k, note) : bootCell(b, note);
    },
  ],
];

function bootCell(b: Extract<AllRatersRow['result'], { readonly value: number }>, note: NoteTaker): string {
  const value = withInterval(b.value, b.expandedBca, 3);
  return b.expandedBca ? value : `${value} (${note(b.intervalReason ?? 'no interval')})`;
}

/** Over all pairs of raters at once. */
export function allRatersTable({ raters: [fewest, most], ...all }: AllRaters): ReportTable {
  const raters = fewest === most ? `${most}` : `${fewest} to ${most}`;
  return table(
    {
      id: 'all-raters',
      caption: `Agreement of all raters on the verdict of each detected mark, ${raters} raters per recording`,
      notes: [
        `${all.ratings} verdicts (kept, moved, removed, unreadable) on ${all.recordings} recordings of ${all.volunteers === 1 ? '1 volunteer' : `${all.volunteers} volunteers`}; intervals over volunteers, of Fleiss’ kappa by the ${clusteredKappaMethod}, of the others by a bootstrap, expanded BCa. Krippendorff 2004, nominal; Fleiss 1971; specific agreement after Cicchetti & Feinstein 1990: where one rater chose the verdict, how often another did.`,
      ],
    },
    allRatersColumns,
    all.rows,
  );
}

/** What such plans are worth, with pilots about as large as the one at hand. */
function plansNote(atHand: number): string {
  const { pilot, low, high, asked } = enoughOf100(atHand);
  const many = asked === null ? `more than ${measuredPlans.mostVolunteers}` : `about ${asked} or more`;
  return `In simulated studies such plans asked for enough volunteers in ${low} to ${high} of 100 pilots of ${pilot} that bore a plan, by population (see the supplement). The price is that a plan from few volunteers asks for many: half of these pilots for ${many} where ${measuredPlans.enough} are enough.`;
}

const planningColumns: readonly PrintedColumn<ReportData['numbers']['planning'][number]>[] = [
  ['recorder, or difference', p => p.recorder],
  ['volunteers needed', ({ plan }, note) => `${number(plan.volunteers, 0, note)}${plan.orFewer ? ' or fewer' : ''}`],
  ['interval shown first, points', (p, note) => number(p.shownWidthPercent, 1, note)],
  ['judged by', ({ plan: { volunteers: v } }) => (v.value === null ? '–' : `${v.n} volunteers at hand`)],
];

function plansMethod(plans: ReportData['numbers']['planning']): string {
  const { drawn, widths } = planningMethods;
  const isOfDifference = plans.some(({ plan }) => plan.method === planningMethods.difference);
  return sentence(`${drawn}; ${widths.quality}${isOfDifference ? `; of a difference ${widths.difference}` : ''}`);
}

export function planningTable(data: ReportData): ReportTable {
  const { numbers, settings } = data;
  const { widthPercent } = settings.statistics.planning;
  return table(
    {
      id: 'planning',
      caption: `Volunteers needed for an interval of ${widthPercent} percentage points`,
      notes: [
        ...(numbers.planning.length > 0 ? [plansMethod(numbers.planning)] : []),
        plansNote(data.volunteers.length),
        'The plan is for the interval that follows from how much the volunteers differ. The intervals shown first in the tables of quality allow for more difference than few volunteers show and are wider; their column gives the median width in 100 studies of that many volunteers, drawn from those at hand.',
      ],
    },
    planningColumns,
    numbers.planning,
  );
}

const auditColumns: readonly PrintedColumn<AuditRow>[] = [
  ['volunteer', a => a.volunteer],
  ['log of', a => a.source],
  ['entries', a => String(a.entries)],
  [
    'moved, removed, inserted',
    ({ byIntent: of }) => [of.move, of.delete, of.insert].map(n => String(n ?? 0)).join(', '),
  ],
  ['unreadable', a => String(a.byIntent.unreadable ?? 0)],
  ['undone', a => String(a.undone)],
  ['reopened', a => String(a.reopened)],
  ['comments, flags', a => `${a.comments}, ${a.flags}`],
  ['first and last entry', a => `${day(a.firstAt)} to ${day(a.lastAt)}`],
  ['chain', a => a.chainProblem ?? `verified, last entry ${a.lastHash?.slice(0, 8) ?? '–'}`],
];

export function auditSummary({ audit }: ReportData): ReportTable {
  const caption = 'Audit summary: what each log consists of';
  return table({ id: 'audit', caption, rowHeads: 2 }, auditColumns, audit);
}

const day = (at: string | null) => at?.slice(0, 16).replace('T', ' ') ?? '–';

type RecordingRow = SessionTableRow['recordings'][number] & Pick<SessionTableRow, 'volunteer' | 'session'>;

const recordingColumns: readonly PrintedColumn<RecordingRow>[] = [
  ['volunteer, session', r => `${r.volunteer}, ${r.session}`],
  ['recorder', r => r.recorder],
  ['started', r => r.startedAt?.replace('T', ' ') ?? 'unknown'],
  ['length, min', r => fixed(r.seconds / 60, 1)],
  ['Hz', r => String(r.samplingRateHz)],
  ['detected marks', r => String(r.detectedMarks)],
  ['marks by', r => r.detectedBy],
  ['source', r => r.source],
];

export function recordingsTable({ sessions }: ReportData): ReportTable {
  return table(
    { id: 'recordings', caption: 'Recordings', rowHeads: 2 },
    recordingColumns,
    sessions.flatMap(({ volunteer, session, recordings }) => recordings.map(r => ({ volunteer, session, ...r }))),
  );
}

/** Every setting, by its path in report.json. */
export function settingsTable(data: ReportData): ReportTable {
  return table<readonly [string, string]>(
    { id: 'settings', caption: 'Every setting' },
    [
      ['setting', ([name]) => name],
      ['value', ([, value]) => value],
    ],
    settingRows(data),
  );
}
