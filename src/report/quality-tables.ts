import type { ReportData } from '../core/report/report';
import type { Estimate } from '../core/score/result';
import { mistakeNames } from './figures/mistakes-figure';
import { fixed, interval, type NoteTaker, number, withInterval } from './numbers';
import { activityName, type ReportTable, table } from './table';

export function qualityTables(data: ReportData): ReportTable[] {
  return [chiefTable(data), bootstrapTable(data)];
}

/** Multiplicity, said once under each table with several intervals. */
export const notAdjusted = 'The intervals are not adjusted for their number.';

function chiefTable({ numbers, settings }: ReportData): ReportTable {
  const level = `${Math.round(100 * settings.statistics.bootstrap.level)} %`;
  return table(
    'quality',
    'Quality: right RR intervals of all, in percent, pooled over volunteers',
    [
      'recorder',
      'activity',
      'volunteers',
      'right of all',
      'quality, %',
      `${level} interval`,
      'mean over volunteers (SD), %',
    ],
    2,
    note =>
      numbers.quality.map(q => [
        q.recorder,
        activityName(q.activity),
        String(q.volunteers),
        `${q.right} of ${q.judged + q.lost}`,
        number(q.pooled, 2, note),
        q.pooledClustered.value === null || !q.pooledClustered.interval
          ? note(q.pooledClustered.value === null ? q.pooledClustered.reason : (q.pooledClustered.intervalReason ?? ''))
          : interval(q.pooledClustered.interval, 2),
        `${number(q.mean, 2, note)} (${number(q.sd, 2, note)})`,
      ]),
    [`Interval: ${numbers.methods['pooledClustered']}. ${notAdjusted}`],
  );
}

function bootstrapTable({ numbers, settings }: ReportData): ReportTable {
  const { draws, seed } = settings.statistics.bootstrap;
  return table(
    'quality-bootstrap',
    `The same with other intervals: jackknife, and bootstrap by volunteer (${draws} draws, seed ${seed})`,
    [
      'recorder',
      'activity',
      'of',
      'value, %',
      'jackknife',
      'bootstrap-t',
      'percentile',
      'BCa',
      'expanded percentile',
      'expanded BCa',
    ],
    2,
    note =>
      numbers.quality.flatMap(q =>
        (
          [
            ['pooled', q.pooledBootstrap, q.pooledJackknife, q.pooledBootstrapT],
            ['mean', q.meanBootstrap, null, null],
          ] as const
        ).map(([what, b, jackknife, t]) => [
          q.recorder,
          activityName(q.activity),
          what,
          number(b, 2, note),
          jackknife === null ? '–' : jackknifeCell(jackknife, note),
          t === null ? '–' : limitsCell(t, note),
          ...bootstrapCells(b, 2, note),
        ]),
      ),
    [
      'Read the interval of the table before: the others fall short of their level where most volunteers have no mistake or one of many is bad (see the table of simulated coverage).',
      `Jackknife: ${numbers.methods['jackknife']}. * by linearization.`,
    ],
  );
}

export type Boot = ReportData['numbers']['quality'][number]['pooledBootstrap'];

function bootstrapCells(b: Boot, places: number, note: NoteTaker): string[] {
  if (b.value === null) return ['–', '–', '–', '–'];
  if (!b.percentile) return [note(b.intervalReason ?? 'no interval'), '–', '–', '–'];
  return [b.percentile, b.bca, b.expandedPercentile, b.expandedBca].map(i => interval(i, places));
}

/** A variant other than the one named in the note has a star. */
function jackknifeCell(e: Estimate, note: NoteTaker): string {
  const isOther = e.value !== null && e.variant !== undefined && e.variant !== 'jackknife';
  return limitsCell(e, note) + (isOther ? ' *' : '');
}

function limitsCell(t: Estimate, note: NoteTaker): string {
  if (t.value === null) return '–';
  return t.interval ? interval(t.interval, 2) : note(t.intervalReason ?? '');
}

export function mistakesTable({ numbers }: ReportData): ReportTable {
  const kinds = numbers.quality[0]?.mistakes.map(m => m.kind) ?? [];
  return table(
    'mistakes',
    'Intervals that are not right, by cause: number (share of the mistakes)',
    ['recorder', 'activity', ...kinds.map(k => mistakeNames[k]), 'together'],
    2,
    () =>
      numbers.quality.map(q => [
        q.recorder,
        activityName(q.activity),
        ...q.mistakes.map(m =>
          m.ofMistakes.value === null ? String(m.intervals) : `${m.intervals} (${fixed(m.ofMistakes.value, 1)} %)`,
        ),
        String(q.mistakes.reduce((sum, m) => sum + m.intervals, 0)),
      ]),
  );
}

export function differencesTable({ numbers }: ReportData): ReportTable {
  return table(
    'differences',
    'Paired difference of recorders in quality, percentage points',
    [
      'recorders',
      'activity',
      'volunteers',
      'pooled (interval)',
      'bootstrap-t',
      'jackknife',
      'BCa',
      'mean (SD) of volunteers',
    ],
    2,
    note =>
      numbers.differences.map(d => [
        `${d.first} less ${d.second}`,
        activityName(d.activity),
        String(d.volunteers),
        differenceCell(d.pooledClustered, note),
        limitsCell(d.pooledBootstrapT, note),
        limitsCell(d.pooledJackknife, note),
        bootstrapCells(d.pooledBootstrap, 2, note)[1]!,
        `${number(d.mean, 2, note)} (${number(d.sd, 2, note)})`,
      ]),
    [
      `Interval to read, beside the pooled difference: ${numbers.methods['differenceInterval']}. The other bootstrap intervals are in differences.csv. ${notAdjusted}`,
    ],
  );
}

function differenceCell(d: Estimate, note: NoteTaker): string {
  if (d.value === null) return note(d.reason);
  return d.interval ? withInterval(d.value, d.interval, 2) : `${fixed(d.value, 2)} (${note(d.intervalReason ?? '')})`;
}
