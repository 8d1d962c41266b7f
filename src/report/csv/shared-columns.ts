import type { ReportData } from '../../core/report/report';
import type { Estimate, Interval } from '../../core/score/result';
import type { Column, Kind } from './column';

/** Columns that several tables of a report have in common. */

type Result = { readonly value: number | null; readonly reason?: string };
export const reasonOf = (r: Result) => (r.value === null ? (r.reason ?? '') : '');
export const allActivities = (activity: string | null) => activity ?? 'all';

export const notComputableBecause = <Row>(of: (row: Row) => Result): Column<Row> => [
  'not_computable',
  'text',
  row => reasonOf(of(row)),
  'why there is no number; empty where there is one',
];

export const recorderColumn: Column<{ recorder: string }> = [
  'recorder',
  'text',
  r => r.recorder,
  'recorder under test',
];

/** Of a recorder in an activity. */
export const recorderAndActivity: readonly Column<{ recorder: string; activity: string | null }>[] = [
  recorderColumn,
  ['activity', 'text', r => allActivities(r.activity), 'activity of the protocol; all: every activity together'],
];

export const sessionAndVolunteer: readonly Column<{ session: string; volunteer: string }>[] = [
  ['session', 'text', r => r.session, 'id of the session'],
  ['volunteer', 'text', r => r.volunteer, 'code of the volunteer'],
];

/** Lower and upper end of an interval. */
export function ends<Row>(
  name: string,
  kind: Kind,
  of: (row: Row) => Interval | null | undefined,
  meaning: string,
): Column<Row>[] {
  return [
    [`${name}_low`, kind, row => of(row)?.[0] ?? null, `lower end: ${meaning}`],
    [`${name}_high`, kind, row => of(row)?.[1] ?? null, `upper end: ${meaning}`],
  ];
}

export const estimateInterval = (e: Estimate): Interval | null => (e.value === null ? null : e.interval);

type Boot = ReportData['numbers']['quality'][number]['pooledBootstrap'];

const bootIntervals = [
  ['percentile', 'percentile', 'percentile bootstrap interval over volunteers'],
  ['bca', 'bca', 'BCa bootstrap interval over volunteers'],
  ['expanded_percentile', 'expandedPercentile', 'percentile bootstrap interval, expanded for few volunteers'],
  ['expanded_bca', 'expandedBca', 'BCa bootstrap interval, expanded for few volunteers'],
] as const;

/** A bootstrapped number with its four intervals. */
export function booted<Row>(name: string, kind: Kind, of: (row: Row) => Boot, meaning: string): Column<Row>[] {
  return [
    [name, kind, row => of(row).value, meaning],
    ...bootIntervals.flatMap(([ending, key, words]) =>
      ends<Row>(
        `${name}_${ending}`,
        kind,
        row => {
          const b = of(row);
          return b.value === null ? null : b[key];
        },
        `${words}: ${meaning}`,
      ),
    ),
  ];
}
