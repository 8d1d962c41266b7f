import {
  type CoveredCase,
  type CoveredSegment,
  differenceNames,
  type IntervalName,
  leastHeld,
  measuredCoverage,
  pooledNames,
  populations,
  segmentNames,
} from '../../core/report/measured-coverage';
import { type MeasuredPlanCase, measuredPlans } from '../../core/report/plans/measured-plans';
import { fixed } from '../numbers';
import { type PrintedColumn, type ReportTable, table } from './table';

const intervalLabels: Readonly<Record<IntervalName, string>> = {
  effectiveSize: 'effective sample size (shown)',
  jackknife: 'jackknife',
  logitBellMcCaffrey: 'robust logit, Bell–McCaffrey',
  logitSatterthwaite: 'robust logit, Satterthwaite',
  kornGraubard: 'Korn–Graubard as published',
  bootstrapT: 'bootstrap\u2011t',
  percentile: 'percentile',
  bca: 'BCa',
  expandedPercentile: 'expanded percentile',
  expandedBca: 'expanded BCa',
};

const segmentLabels = {
  errorRuns: 'runs of mistakes (shown)',
  blockBootstrap: 'block bootstrap',
  ifIndependent: 'Wilson, if independent',
} as const;

/** Shares that fall short of their level have a dagger, on the same line. */
const cell = (held: number) => `${fixed(100 * held, 1)}${held < leastHeld ? '\u00a0†' : ''}`;

/** The stored simulations, case by case: what each kind of interval is worth, also where it fails. */
export function coverageTables(): ReportTable[] {
  return [pooledTable(), differenceTable(), segmentTable(), plansTable()];
}

const level = `${100 * measuredCoverage.level} %`;
const dagger = `† in fewer than ${100 * leastHeld} of 100.`;

const volunteersColumn: PrintedColumn<CoveredCase> = ['volunteers', c => String(c.volunteers)];
const populationColumn: PrintedColumn<CoveredCase> = ['population', c => c.population];
const heldColumn = (name: IntervalName): PrintedColumn<CoveredCase> => [
  intervalLabels[name],
  c => cell(c.covered[name]!),
];

function pooledTable(): ReportTable {
  const { pooled, studies, draws } = measuredCoverage;
  return table(
    {
      id: 'coverage-pooled',
      caption: `Percent of simulated studies whose ${level} interval held the true pooled quality`,
      rowHeads: 2,
      notes: [
        `${dagger} A study without an interval does not hold the truth. ${studies} studies a case, ${draws} bootstrap draws in each; two standard errors of a share are about one percentage point.`,
        `Populations, with 300 to 500 intervals a volunteer: ${populations.map(p => `${p.name}: ${p.description} (truth ${fixed(100 * p.truth, 2)} %)`).join('; ')}.`,
      ],
    },
    [volunteersColumn, populationColumn, ...pooledNames.map(heldColumn)],
    pooled,
  );
}

const secondWords: Readonly<Record<string, string>> = {
  adds: 'adds mistakes of its own to the first’s',
  own: 'half of the volunteers shared, 0.5 % worse',
};

function differenceTable(): ReportTable {
  const caption = `Percent of simulated studies whose ${level} interval held the true difference`;
  return table(
    { id: 'coverage-differences', caption, rowHeads: 2, notes: [dagger] },
    [
      volunteersColumn,
      populationColumn,
      ['second recorder', c => secondWords[c.second ?? ''] ?? ''],
      ...differenceNames.map(heldColumn),
    ],
    measuredCoverage.differences,
  );
}

const segmentColumns: readonly PrintedColumn<CoveredSegment>[] = [
  ['intervals', c => String(c.intervals)],
  ['true quality, %', c => fixed(100 * c.quality, 1)],
  ['mistakes come', c => c.source],
  ...segmentNames.map((name): PrintedColumn<CoveredSegment> => [segmentLabels[name], c => cell(c.covered[name])]),
];

function segmentTable(): ReportTable {
  const caption = `Percent of simulated segments whose ${level} interval held the true quality`;
  const notes = [`${dagger} ${measuredCoverage.segments} segments a case.`];
  return table({ id: 'coverage-segments', caption, rowHeads: 2, notes }, segmentColumns, measuredCoverage.ofSegments);
}

const percentCell = (percent: number | null) => (percent === null ? '–' : fixed(percent, 0));

const planColumns: readonly PrintedColumn<MeasuredPlanCase>[] = [
  ['pilot', c => String(c.pilot)],
  ['population', c => c.population],
  ['planned for', c => c.what],
  ['enough, upper limit (used)', c => percentCell(c.upperLimit.enoughPercent)],
  ['enough, pilot as it is', c => percentCell(c.plain.enoughPercent)],
  [
    'median asked for',
    ({ upperLimit: u }) => (u.enoughPercent === null ? '–' : String(u.medianNeeded ?? 'more than tried')),
  ],
  ['no plan', c => percentCell(c.upperLimit.noPlanPercent)],
];

function plansTable(): ReportTable {
  const { pilots, pilotsForMedian, enough, cells } = measuredPlans;
  return table(
    {
      id: 'coverage-plans',
      caption: `Percent of simulated pilots whose plan asked for enough volunteers, ${enough} being enough`,
      rowHeads: 2,
      notes: [
        `${pilots} pilots a case, ${pilotsForMedian} of them for the median; two standard errors of a share are about four percentage points. The width wanted is that which 80 of 100 studies of ${enough} volunteers keep to. Percent of the plans that were made; no plan: the volunteers of the pilot did not differ, or hardly made any mistake and were too few.`,
      ],
    },
    planColumns,
    [...cells].sort((a, b) => a.pilot - b.pilot),
  );
}
