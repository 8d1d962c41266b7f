import type { DifferenceRow, MistakeShare, QualityRow } from '../../core/report/quality-table';
import type { ReportData } from '../../core/report/report';
import type { SegmentRow } from '../../core/report/rows';
import type { ToleranceRow } from '../../core/report/tolerance';
import { lookedAtWords } from '../../core/review/standing/looked-at';
import type { Computed } from '../../core/score/result';
import { type Column, type DataTable, dataTable } from './column';
import { mistakeNames } from './mistake-names';
import {
  booted,
  ends,
  estimateInterval,
  notComputableBecause,
  recorderAndActivity,
  recorderColumn,
  sessionAndVolunteer,
} from './shared-columns';

const countsSource = 'detected marks matched with the counted review';

const count = (name: string, key: keyof SegmentRow['counts'], meaning: string): Column<SegmentRow> => [
  name,
  'count',
  s => (s.standing.status === 'not reviewed yet' ? null : s.counts[key]),
  meaning,
];

const segmentColumns: readonly Column<SegmentRow>[] = [
  ...sessionAndVolunteer,
  ...recorderAndActivity,
  ['review', 'text', s => s.source, 'whose review counts'],
  ['start_s', 'seconds', s => s.startSeconds, 'start of the segment, from the start of the recording'],
  ['end_s', 'seconds', s => s.endSeconds, 'end of the segment, from the start of the recording'],
  count('judged', 'judged', 'RR intervals between consecutive reviewed beats'),
  count('right', 'right', 'judged intervals that the recorder has right'),
  count('lost', 'lost', 'intervals that unreadable stretches and gaps would have held'),
  count('lost_unreadable', 'lostUnreadable', 'of these, in stretches marked unreadable'),
  count('lost_no_signal', 'lostNoSignal', 'of these, in gaps without signal'),
  count('wrong_by_missed', 'wrongByMissed', 'intervals wrong because a beat was missed'),
  count('wrong_by_wrong_peak', 'wrongByWrongPeak', 'intervals wrong because a mark sits on a wrong peak'),
  count('wrong_by_extra', 'wrongByExtra', 'intervals wrong because of an extra mark'),
  count('missed', 'missed', 'beats without a mark'),
  count('wrong_peak', 'wrongPeak', 'beats whose mark sits on another wave'),
  count('extra', 'extra', 'marks where there is no beat'),
  [
    'coverage_percent',
    'percent',
    s => (s.coverageShare === null ? null : 100 * s.coverageShare),
    'share of the segment that was looked at; of a settled review by the rater who looked at less',
  ],
  ['looked_at_by', 'text', s => lookedAtWords({ by: s.coverageBy }), 'who looked, with the share where it is not all'],
  [
    'status',
    'text',
    s => s.standing.status,
    'final: looked at in full, or signed off; sampled: counts of the stretches looked at, quality estimated from them; so far: counts of the part looked at alone; not reviewed yet: no counts',
  ],
  ['sampled_stretches', 'count', s => s.standing.sampled?.reviewed ?? null, 'of a sample: stretches reviewed'],
  ['stretches', 'count', s => s.standing.sampled?.stretches ?? null, 'of a sample: stretches in all'],
  ['sample_seed', 'number', s => s.standing.sampled?.seed ?? null, 'of a sample: what its order follows from'],
  [
    'sampled_quality_percent',
    'percent',
    s => s.standing.sampled?.quality.value ?? null,
    'of a sample: quality estimated from it',
  ],
  ...ends<SegmentRow>(
    'sampled_quality',
    'percent',
    s => s.standing.sampled?.interval95 ?? null,
    'of a sample: 95 % interval of its quality, valid whenever one stops',
  ),
  ['signed_off', 'flag', s => s.signedOff, 'whether the rater signed the segment off'],
  ['sign_off_reason', 'text', s => s.signOffReason, 'reason for a sign-off before all was looked at'],
  ['other_trace_used', 'count', s => s.otherTraceUsed, 'places at which the other recorder’s trace was evidence'],
];

export const segmentsCsv = ({ segments }: ReportData): DataTable => dataTable(countsSource, segmentColumns, segments);

const qualityColumns: readonly Column<QualityRow>[] = [
  ...recorderAndActivity,
  ['volunteers', 'count', q => q.volunteers, 'volunteers who enter'],
  ['right', 'count', q => q.right, 'right RR intervals'],
  ['judged', 'count', q => q.judged, 'RR intervals between consecutive reviewed beats'],
  ['lost', 'count', q => q.lost, 'intervals lost to unreadable stretches and gaps'],
  ['quality_percent', 'percent', q => q.pooled.value, 'quality: 100 x right / (judged + lost), pooled'],
  ...ends<QualityRow>(
    'clustered',
    'percent',
    q => estimateInterval(q.pooledClustered),
    'interval of the pooled quality at the effective sample size, the one to read',
  ),
  ...ends<QualityRow>(
    'jackknife',
    'percent',
    q => estimateInterval(q.pooledJackknife),
    'jackknife interval of the pooled quality',
  ),
  [
    'jackknife_variant',
    'text',
    q => (q.pooledJackknife.value === null ? '' : (q.pooledJackknife.variant ?? '')),
    'variance used for the jackknife interval',
  ],
  ...ends<QualityRow>(
    'bootstrap_t',
    'percent',
    q => estimateInterval(q.pooledBootstrapT),
    'bootstrap-t interval of the pooled quality',
  ),
  ...booted<QualityRow>('pooled_percent', 'percent', q => q.pooledBootstrap, 'pooled quality'),
  ['sd_percent', 'percent', q => q.sd.value, 'standard deviation of the volunteers’ own qualities'],
  ...booted<QualityRow>('mean_percent', 'percent', q => q.meanBootstrap, 'mean of the volunteers’ own qualities'),
  notComputableBecause(q => q.pooled),
];

const studySource = 'segments.csv, summed by volunteer';

export const qualityCsv = ({ numbers }: ReportData): DataTable =>
  dataTable(studySource, qualityColumns, numbers.quality);

const toleranceColumns: readonly Column<ToleranceRow>[] = [
  recorderColumn,
  ['tolerance_ms', 'ms', t => t.toleranceMs, 'tolerance within which a mark is on the peak'],
  ['quality_percent', 'percent', t => t.quality.value, 'quality over all activities, pooled'],
  ...ends<ToleranceRow>('clustered', 'percent', t => t.interval, 'interval at the effective sample size'),
  ['intervals', 'count', t => (t.quality.value === null ? null : t.quality.n), 'judged and lost intervals'],
  ['missed', 'count', t => t.missed, 'beats without a mark'],
  ['wrong_peak', 'count', t => t.wrongPeak, 'beats whose mark sits on another wave'],
  ['extra', 'count', t => t.extra, 'marks where there is no beat'],
];

export const tolerancesCsv = ({ tolerances }: ReportData): DataTable =>
  dataTable('the counted reviews, matched again with each tolerance', toleranceColumns, tolerances);

interface OwnQuality {
  readonly recorder: string;
  readonly activity: string | null;
  readonly volunteer: string;
  readonly quality: Computed;
}

const volunteerColumns: readonly Column<OwnQuality>[] = [
  ...recorderAndActivity,
  ['volunteer', 'text', v => v.volunteer, 'code of the volunteer'],
  ['quality_percent', 'percent', v => v.quality.value, 'the volunteer’s own quality'],
  ['intervals', 'count', v => (v.quality.value === null ? null : v.quality.n), 'judged and lost intervals'],
  notComputableBecause(v => v.quality),
];

export const volunteersCsv = ({ numbers }: ReportData): DataTable =>
  dataTable(
    studySource,
    volunteerColumns,
    numbers.quality.flatMap(q => q.perVolunteer.map(v => ({ recorder: q.recorder, activity: q.activity, ...v }))),
  );

/** Of one recorder in one activity. */
export type MistakeRow = MistakeShare & Pick<QualityRow, 'recorder' | 'activity'>;

const mistakeRows = (quality: readonly QualityRow[]): MistakeRow[] =>
  quality.flatMap(({ recorder, activity, mistakes }) => mistakes.map(m => ({ recorder, activity, ...m })));

const mistakeColumns: readonly Column<MistakeRow>[] = [
  ...recorderAndActivity,
  ['kind', 'text', m => mistakeNames[m.kind], 'why the interval is not right'],
  ['intervals', 'count', m => m.intervals, 'intervals not right for this reason'],
  ['percent_of_mistakes', 'percent', m => m.ofMistakes.value, 'share of the intervals that are not right'],
  ['percent_of_all', 'percent', m => m.ofAll.value, 'share of all intervals'],
];

export const mistakesTableOf = (quality: readonly QualityRow[]): DataTable =>
  dataTable(studySource, mistakeColumns, mistakeRows(quality));

export const mistakesCsv = ({ numbers }: ReportData): DataTable => mistakesTableOf(numbers.quality);

const differenceColumns: readonly Column<DifferenceRow>[] = [
  ['first', 'text', d => d.first, 'recorder whose quality comes first'],
  ['second', 'text', d => d.second, 'recorder whose quality is subtracted'],
  ['activity', 'text', d => d.activity ?? 'all', 'activity of the protocol; all: every activity together'],
  [
    'volunteers',
    'count',
    d => d.volunteers,
    'volunteers who wore both; each counts with the activities that both recorders have',
  ],
  ...ends<DifferenceRow>(
    'clustered',
    'points',
    d => estimateInterval(d.pooledClustered),
    'interval of the pooled difference at the effective sample size, the one to read',
  ),
  ...ends<DifferenceRow>(
    'jackknife',
    'points',
    d => estimateInterval(d.pooledJackknife),
    'jackknife interval of the pooled difference',
  ),
  ...ends<DifferenceRow>(
    'bootstrap_t',
    'points',
    d => estimateInterval(d.pooledBootstrapT),
    'bootstrap-t interval of the pooled difference',
  ),
  ...booted<DifferenceRow>(
    'pooled_points',
    'points',
    d => d.pooledBootstrap,
    'pooled quality of the first less second',
  ),
  ['sd_points', 'points', d => d.sd.value, 'standard deviation of the volunteers’ own differences'],
  ...booted<DifferenceRow>('mean_points', 'points', d => d.meanBootstrap, 'mean of the volunteers’ own differences'),
  notComputableBecause(d => d.pooledBootstrap),
];

export const differencesCsv = ({ numbers }: ReportData): DataTable =>
  dataTable(studySource, differenceColumns, numbers.differences);
