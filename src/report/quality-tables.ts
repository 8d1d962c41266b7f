import { heldOf100, type IntervalName, measuredCoverage, nearestSize } from '../core/report/measured-coverage';
import type { ReportData } from '../core/report/report';
import { bootstrapTMethod } from '../core/score/bootstrap-t';
import { clusterJackknifeMethod } from '../core/score/cluster-ratio';
import type { Estimate } from '../core/score/result';
import { mistakeNames } from './figures/mistakes-figure';
import { fixed, interval, type NoteTaker, number, withInterval } from './numbers';
import { activityName, type ReportTable, table } from './table';

export function qualityTables(data: ReportData): ReportTable[] {
  return [chiefTable(data), bootstrapTable(data)];
}

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
    [`Interval: ${numbers.methods['pooledClustered']}.`],
  );
}

function bootstrapTable({ numbers, settings }: ReportData): ReportTable {
  const { draws, seed } = settings.statistics.bootstrap;
  return table(
    'quality-bootstrap',
    `The same with bootstrap intervals by volunteer (${draws} draws, seed ${seed})`,
    [
      'recorder',
      'activity',
      'of',
      'value, %',
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
            ['pooled', q.pooledBootstrap, q.pooledBootstrapT],
            ['mean', q.meanBootstrap, null],
          ] as const
        ).map(([what, b, t]) => [
          q.recorder,
          activityName(q.activity),
          what,
          number(b, 2, note),
          t === null ? '–' : limitsCell(t, note),
          ...bootstrapCells(b, 2, note),
        ]),
      ),
    [`${heldWords(numbers.quality)} Read the interval of the table before, or the bootstrap-t.`],
  );
}

export type Boot = ReportData['numbers']['quality'][number]['pooledBootstrap'];

function bootstrapCells(b: Boot, places: number, note: NoteTaker): string[] {
  if (b.value === null) return ['–', '–', '–', '–'];
  if (!b.percentile) return [note(b.intervalReason ?? 'no interval'), '–', '–', '–'];
  return [b.percentile, b.bca, b.expandedPercentile, b.expandedBca].map(i => interval(i, places));
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
      'jackknife',
      'percentile',
      'BCa',
      'mean (SD) of volunteers',
    ],
    2,
    note =>
      numbers.differences.map(d => [
        `${d.first} less ${d.second}`,
        activityName(d.activity),
        String(d.volunteers),
        differenceCell(d.pooledBootstrapT, note),
        limitsCell(d.pooledJackknife, note),
        ...bootstrapCells(d.pooledBootstrap, 2, note).slice(0, 2),
        `${number(d.mean, 2, note)} (${number(d.sd, 2, note)})`,
      ]),
    [
      `Interval to read, beside the pooled difference: ${bootstrapTMethod}. Jackknife: ${clusterJackknifeMethod}. The expanded intervals are in differences.csv.`,
    ],
  );
}

function differenceCell(d: Estimate, note: NoteTaker): string {
  if (d.value === null) return note(d.reason);
  return d.interval ? withInterval(d.value, d.interval, 2) : `${fixed(d.value, 2)} (${note(d.intervalReason ?? '')})`;
}

/** How often bootstrap intervals of such a study hold the truth. */
function heldWords(quality: ReportData['numbers']['quality']): string {
  const size = nearestSize(Math.max(0, ...quality.map(q => q.volunteers)));
  const held = (name: IntervalName) => heldOf100(name, size);
  return `In simulated studies of ${size} volunteers, 95 % intervals held the truth in ${held('percentile')} (percentile), ${held('bca')} (BCa), ${held('expandedPercentile')} (expanded percentile) and ${held('expandedBca')} (expanded BCa) of 100, the bootstrap-t in ${held('bootstrapT')}, the one of the table before in ${held('jackknife')}.`;
}

const coverageNames: Readonly<Record<IntervalName, string>> = {
  jackknife: 'jackknife',
  bootstrapT: 'bootstrap-t',
  percentile: 'percentile',
  bca: 'BCa',
  expandedPercentile: 'expanded percentile',
  expandedBca: 'expanded BCa',
};

/** The stored simulation, case by case: what each kind of interval is worth. */
export function coverageTable(): ReportTable {
  const { pooled, differences, studies, draws, level } = measuredCoverage;
  const names = Object.keys(coverageNames) as IntervalName[];
  const rows = (what: string, cases: typeof pooled) =>
    cases.map(c => [
      what,
      String(c.volunteers),
      fixed(100 * c.meanQuality, 1),
      ...names.map(name => fixed(100 * c.covered[name], 1)),
    ]);
  return table(
    'coverage',
    `Percent of simulated studies whose ${100 * level} % interval held the truth`,
    ['of', 'volunteers', 'true quality, %', ...names.map(name => coverageNames[name])],
    1,
    () => [...rows('pooled quality', pooled), ...rows('paired difference', differences)],
    [
      `${studies} studies a case with ${draws} draws each; two standard errors of a share are about one percentage point. Quality is beta-binomial over volunteers with 300 to 500 intervals each.`,
    ],
  );
}
