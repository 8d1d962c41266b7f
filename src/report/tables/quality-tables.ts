import type { ReportBeginning } from '../../core/report/beginning';
import type { DifferenceRow, QualityRow } from '../../core/report/quality-table';
import type { ReportData } from '../../core/report/report';
import type { ToleranceRow } from '../../core/report/tolerance';
import type { Estimate } from '../../core/score/result';
import { mistakeNames } from '../csv/mistake-names';
import { fixed, interval, type NoteTaker, number, quality, qualityInterval, withInterval } from '../numbers';
import { withoutSamples } from './sampled-table';
import { activityColumn, type PrintedColumn, printedRecorder, type ReportTable, table } from './table';

/** Multiplicity, said once under each table with several intervals. */
export const notAdjusted = 'The intervals are not adjusted for their number.';

const meanAndSd: PrintedColumn<Pick<QualityRow, 'mean' | 'sd'>>[1] = (q, note) =>
  `${quality(q.mean, 2, note)} (${number(q.sd, 2, note)})`;

export function qualityTable({ numbers, settings, sampled }: ReportBeginning): ReportTable {
  const level = `${Math.round(100 * settings.statistics.bootstrap.level)} %`;
  const columns: readonly PrintedColumn<QualityRow>[] = [
    printedRecorder,
    activityColumn,
    ['volunteers', q => String(q.volunteers)],
    ['right of all', q => `${q.right} of ${q.judged + q.lost}`],
    ['quality, %', (q, note) => quality(q.pooled, 2, note)],
    [`${level} interval`, (q, note) => qualityCell(q.pooledClustered, note)],
    ['mean over volunteers (SD), %', meanAndSd],
  ];
  return table(
    {
      id: 'quality',
      caption: 'Quality: right RR intervals of all, in percent, pooled over volunteers',
      rowHeads: 2,
      notes: [
        `Interval: ${numbers.methods['pooledClustered']}. ${notAdjusted}`,
        ...withoutSamples({ sampled }, 'they are in the next table'),
      ],
    },
    columns,
    numbers.quality,
  );
}

/** The interval alone, or why there is none. */
function intervalCell(e: Estimate, note: NoteTaker, words = interval): string {
  if (e.value === null) return note(e.reason);
  return e.interval ? words(e.interval, 2) : note(e.intervalReason ?? '');
}

const qualityCell = (e: Estimate, note: NoteTaker) => intervalCell(e, note, qualityInterval);

export type Boot = QualityRow['pooledBootstrap'];

/** One line of the other intervals: of the pooled quality, or of the volunteers' mean. */
interface OtherIntervals extends Pick<QualityRow, 'recorder' | 'activity'> {
  readonly of: string;
  readonly boot: Boot;
  readonly jackknife: Estimate | null;
  readonly bootstrapT: Estimate | null;
}

function otherIntervals(q: QualityRow): OtherIntervals[] {
  const { recorder, activity } = q;
  const pooled = {
    of: 'pooled',
    boot: q.pooledBootstrap,
    jackknife: q.pooledJackknife,
    bootstrapT: q.pooledBootstrapT,
  };
  const mean = { of: 'mean', boot: q.meanBootstrap, jackknife: null, bootstrapT: null };
  return [pooled, mean].map(of => ({ recorder, activity, ...of }));
}

const bootKinds = [
  ['percentile', 'percentile'],
  ['BCa', 'bca'],
  ['expanded percentile', 'expandedPercentile'],
  ['expanded BCa', 'expandedBca'],
] as const;
type BootKind = (typeof bootKinds)[number][1];

/** The first of them says why there is none. */
function bootCell(b: Boot, kind: BootKind, note: NoteTaker, words = interval): string {
  if (b.value === null) return '–';
  if (b.percentile) return words(b[kind], 2);
  return kind === 'percentile' ? note(b.intervalReason ?? 'no interval') : '–';
}

const otherColumns: readonly PrintedColumn<OtherIntervals>[] = [
  printedRecorder,
  activityColumn,
  ['of', o => o.of],
  ['value, %', (o, note) => quality(o.boot, 2, note)],
  ['jackknife', (o, note) => (o.jackknife === null ? '–' : jackknifeCell(o.jackknife, note))],
  ['bootstrap-t', (o, note) => (o.bootstrapT === null ? '–' : limitsCell(o.bootstrapT, note, qualityInterval))],
  ...bootKinds.map(
    ([head, kind]): PrintedColumn<OtherIntervals> => [head, (o, note) => bootCell(o.boot, kind, note, qualityInterval)],
  ),
];

export function otherIntervalsTable({ numbers, settings }: ReportData): ReportTable {
  const { draws, seed } = settings.statistics.bootstrap;
  return table(
    {
      id: 'quality-bootstrap',
      caption: `Quality with other intervals: jackknife, and bootstrap by volunteer (${draws} draws, seed ${seed})`,
      rowHeads: 2,
      notes: [
        'Read the interval of the quality table: the others fall short of their level where most volunteers have no mistake or one of many is bad (see the tables of simulated coverage).',
        `Jackknife: ${numbers.methods['jackknife']}. * by linearization.`,
      ],
    },
    otherColumns,
    numbers.quality.flatMap(otherIntervals),
  );
}

/** A variant other than the one named in the note has a star. */
function jackknifeCell(e: Estimate, note: NoteTaker): string {
  const isOther = e.value !== null && e.variant !== undefined && e.variant !== 'jackknife';
  return limitsCell(e, note, qualityInterval) + (isOther ? ' *' : '');
}

function limitsCell(t: Estimate, note: NoteTaker, words = interval): string {
  return t.value === null ? '–' : intervalCell(t, note, words);
}

const toleranceColumns: readonly PrintedColumn<ToleranceRow>[] = [
  printedRecorder,
  ['tolerance, ms', t => String(t.toleranceMs)],
  ['quality, %', (t, note) => quality(t.quality, 2, note)],
  ['interval', t => qualityInterval(t.interval, 2)],
  ['missed', t => String(t.missed)],
  ['wrong peak', t => String(t.wrongPeak)],
  ['extra', t => String(t.extra)],
];

export function tolerancesTable({ tolerances, settings }: ReportBeginning): ReportTable {
  return table(
    {
      id: 'tolerances',
      caption: 'How far the quality depends on the tolerance within which a mark is on the peak, all activities',
      rowHeads: 2,
      notes: [
        `All other tables use ${settings.match.onPeakToleranceMs} ms. A mark beyond the tolerance counts as a wrong peak, or as missed and extra. Missed and wrong peak are numbers of beats here, extra of marks; the table of causes counts intervals. Intervals as in the quality table.`,
      ],
    },
    toleranceColumns,
    tolerances,
  );
}

export function mistakesTable({ numbers }: ReportBeginning): ReportTable {
  const kinds = numbers.quality[0]?.mistakes.map(m => m.kind) ?? [];
  const columns: readonly PrintedColumn<QualityRow>[] = [
    printedRecorder,
    activityColumn,
    ...kinds.map((kind): PrintedColumn<QualityRow> => [mistakeNames[kind], q => mistakeCell(q, kind)]),
    ['together', q => String(q.mistakes.reduce((sum, m) => sum + m.intervals, 0))],
  ];
  const caption = 'Intervals that are not right, by cause: number (share of the mistakes)';
  return table({ id: 'mistakes', caption, rowHeads: 2 }, columns, numbers.quality);
}

function mistakeCell(q: QualityRow, kind: QualityRow['mistakes'][number]['kind']): string {
  const { intervals, ofMistakes } = q.mistakes.find(m => m.kind === kind)!;
  return ofMistakes.value === null ? String(intervals) : `${intervals} (${fixed(ofMistakes.value, 1)} %)`;
}

const differenceColumns: readonly PrintedColumn<DifferenceRow>[] = [
  ['recorders', d => `${d.first} less ${d.second}`],
  activityColumn,
  ['volunteers', d => String(d.volunteers)],
  ['pooled (interval)', (d, note) => differenceCell(d.pooledClustered, note)],
  ['bootstrap-t', (d, note) => limitsCell(d.pooledBootstrapT, note)],
  ['jackknife', (d, note) => limitsCell(d.pooledJackknife, note)],
  ['BCa', d => bootCell(d.pooledBootstrap, 'bca', () => '–')],
  ['mean (SD) of volunteers', (d, note) => `${number(d.mean, 2, note)} (${number(d.sd, 2, note)})`],
];

export function differencesTable({ numbers }: ReportData): ReportTable {
  return table(
    {
      id: 'differences',
      caption: 'Paired difference of recorders in quality, percentage points',
      rowHeads: 2,
      notes: [
        `Interval to read, beside the pooled difference: ${numbers.methods['differenceInterval']}. The other bootstrap intervals are in differences.csv. ${notAdjusted}`,
        'Of each volunteer those activities count that both recorders have.',
      ],
    },
    differenceColumns,
    numbers.differences,
  );
}

function differenceCell(d: Estimate, note: NoteTaker): string {
  if (d.value === null) return note(d.reason);
  return d.interval ? withInterval(d.value, d.interval, 2) : `${fixed(d.value, 2)} (${note(d.intervalReason ?? '')})`;
}
