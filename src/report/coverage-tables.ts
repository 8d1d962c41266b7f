import {
  differenceNames,
  type IntervalName,
  leastHeld,
  measuredCoverage,
  pooledNames,
  populations,
  segmentNames,
} from '../core/report/measured-coverage';
import { fixed } from './numbers';
import { type ReportTable, table } from './table';

const intervalLabels: Readonly<Record<IntervalName, string>> = {
  effectiveSize: 'effective sample size (shown)',
  jackknife: 'jackknife',
  logitBellMcCaffrey: 'robust logit, Bell–McCaffrey',
  logitSatterthwaite: 'robust logit, Satterthwaite',
  kornGraubard: 'Korn–Graubard as published',
  bootstrapT: 'bootstrap-t',
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

/** Shares that fall short of their level have a dagger. */
const cell = (held: number) => `${fixed(100 * held, 1)}${held < leastHeld ? ' †' : ''}`;

/** The stored simulations, case by case: what each kind of interval is worth, also where it fails. */
export function coverageTables(): ReportTable[] {
  return [pooledTable(), differenceTable(), segmentTable()];
}

const level = `${100 * measuredCoverage.level} %`;
const dagger = `† in fewer than ${100 * leastHeld} of 100.`;

function pooledTable(): ReportTable {
  const { pooled, studies, draws } = measuredCoverage;
  return table(
    'coverage-pooled',
    `Percent of simulated studies whose ${level} interval held the true pooled quality`,
    ['volunteers', 'population', ...pooledNames.map(name => intervalLabels[name])],
    2,
    () => pooled.map(c => [String(c.volunteers), c.population, ...pooledNames.map(name => cell(c.covered[name]!))]),
    [
      `${dagger} A study without an interval does not hold the truth. ${studies} studies a case, ${draws} bootstrap draws in each; two standard errors of a share are about one percentage point.`,
      `Populations, with 300 to 500 intervals a volunteer: ${populations.map(p => `${p.name}: ${p.description} (truth ${fixed(100 * p.truth, 2)} %)`).join('; ')}.`,
    ],
  );
}

const secondWords: Readonly<Record<string, string>> = {
  adds: 'adds mistakes of its own to the first’s',
  own: 'half of the volunteers shared, 0.5 % worse',
};

function differenceTable(): ReportTable {
  return table(
    'coverage-differences',
    `Percent of simulated studies whose ${level} interval held the true difference of two recorders`,
    ['volunteers', 'population', 'second recorder', ...differenceNames.map(name => intervalLabels[name])],
    2,
    () =>
      measuredCoverage.differences.map(c => [
        String(c.volunteers),
        c.population,
        secondWords[c.second ?? ''] ?? '',
        ...differenceNames.map(name => cell(c.covered[name]!)),
      ]),
    [dagger],
  );
}

function segmentTable(): ReportTable {
  return table(
    'coverage-segments',
    `Percent of simulated segments whose ${level} interval held the true quality`,
    ['intervals', 'true quality, %', 'mistakes come', ...segmentNames.map(name => segmentLabels[name])],
    2,
    () =>
      measuredCoverage.ofSegments.map(c => [
        String(c.intervals),
        fixed(100 * c.quality, 1),
        c.source,
        ...segmentNames.map(name => cell(c.covered[name])),
      ]),
    [`${dagger} ${measuredCoverage.segments} segments a case.`],
  );
}
