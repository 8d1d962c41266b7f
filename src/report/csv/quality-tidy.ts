import type { QualityRow } from '../../core/report/quality-table';
import type { ReportData } from '../../core/report/report';
import type { Interval } from '../../core/score/result';
import { type Column, type DataTable, dataTable } from './column';
import { estimateInterval, reasonOf, recorderAndActivity } from './shared-columns';

/** One number of quality with one interval. */
interface TidyRow extends Pick<QualityRow, 'recorder' | 'activity'> {
  readonly volunteer: string;
  readonly statistic: string;
  readonly method: string;
  readonly value: number | null;
  readonly interval: Interval | null;
  readonly volunteers: number | null;
  readonly intervals: number | null;
  readonly reason: string;
}

const columns: readonly Column<TidyRow>[] = [
  ...recorderAndActivity,
  ['volunteer', 'text', r => r.volunteer, 'code of the volunteer; all: every volunteer together'],
  [
    'statistic',
    'text',
    r => r.statistic,
    'quality (pooled over volunteers, or the volunteer’s own), mean or sd of the volunteers’ own',
  ],
  ['interval_method', 'text', r => r.method, 'method of the interval; empty where there is none'],
  ['percent', 'percent', r => r.value, 'value of the statistic'],
  ['low', 'percent', r => r.interval?.[0] ?? null, 'lower end of the interval'],
  ['high', 'percent', r => r.interval?.[1] ?? null, 'upper end of the interval'],
  ['volunteers', 'count', r => r.volunteers, 'volunteers who enter'],
  ['intervals', 'count', r => r.intervals, 'judged and lost RR intervals'],
  ['not_computable', 'text', r => r.reason, 'why there is no number; empty where there is one'],
];

/** Quality with one number and one interval a row, for programs that reshape and filter. */
export const tidyQualityCsv = ({ numbers }: ReportData): DataTable =>
  dataTable('segments.csv, summed by volunteer', columns, numbers.quality.flatMap(tidyRows));

function tidyRows(q: QualityRow): TidyRow[] {
  const head = { recorder: q.recorder, activity: q.activity, volunteers: q.volunteers, intervals: q.judged + q.lost };
  const all = { ...head, volunteer: 'all', reason: '' };
  const pooled = { ...all, statistic: 'quality', value: q.pooled.value, reason: reasonOf(q.pooled) };
  const boots = (b: QualityRow['pooledBootstrap']) =>
    (['percentile', 'bca', 'expandedPercentile', 'expandedBca'] as const).map(
      name => [bootNames[name], b.value === null ? null : b[name]] as const,
    );
  const methods: (readonly [string, Interval | null])[] = [
    ['effective sample size', estimateInterval(q.pooledClustered)],
    ['jackknife', estimateInterval(q.pooledJackknife)],
    ['bootstrap-t', estimateInterval(q.pooledBootstrapT)],
    ...boots(q.pooledBootstrap),
  ];
  const mean = { ...all, statistic: 'mean', value: q.mean.value, reason: reasonOf(q.mean) };
  return [
    ...methods.map(([method, interval]) => ({ ...pooled, method, interval })),
    ...boots(q.meanBootstrap).map(([method, interval]) => ({ ...mean, method, interval })),
    { ...all, statistic: 'sd', method: '', value: q.sd.value, interval: null, reason: reasonOf(q.sd) },
    ...q.perVolunteer.map(({ volunteer, quality }) => ({
      ...head,
      volunteer,
      statistic: 'quality',
      method: '',
      value: quality.value,
      interval: null,
      volunteers: 1,
      intervals: quality.value === null ? null : quality.n,
      reason: reasonOf(quality),
    })),
  ];
}

const bootNames = {
  percentile: 'percentile bootstrap',
  bca: 'BCa bootstrap',
  expandedPercentile: 'expanded percentile bootstrap',
  expandedBca: 'expanded BCa bootstrap',
} as const;
