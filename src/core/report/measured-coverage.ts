/**
 * How often 95 % intervals held the truth in simulated studies and segments, as stored with the scripts in
 * tests/reference/bootstrap (coverage.ts, segment-coverage.ts and their results); a test holds the two equal.
 */
import shares from './measured-coverage.json' with { type: 'json' };

export const pooledNames = [
  'effectiveSize',
  'jackknife',
  'logitBellMcCaffrey',
  'logitSatterthwaite',
  'kornGraubard',
  'bootstrapT',
  'percentile',
  'bca',
  'expandedPercentile',
  'expandedBca',
] as const;
export const differenceNames = [
  'effectiveSize',
  'jackknife',
  'bootstrapT',
  'percentile',
  'bca',
  'expandedPercentile',
  'expandedBca',
] as const;
export type IntervalName = (typeof pooledNames)[number];

/** Names and descriptions of the simulated populations of volunteers, with the true quality as a fraction. */
export const populations: readonly { readonly name: string; readonly description: string; readonly truth: number }[] = [
  { name: '90 %', description: 'beta-binomial, mean 90 %, intraclass correlation 0.048', truth: 0.9 },
  { name: '97 %', description: 'beta-binomial, mean 97 %, intraclass correlation 0.024', truth: 0.97 },
  { name: '99 %', description: 'beta-binomial, mean 99 %, intraclass correlation 0.020', truth: 0.99 },
  { name: '99.8 %', description: 'beta-binomial, mean 99.8 %, intraclass correlation 0.010', truth: 0.998 },
  {
    name: '60 % without error',
    description: 'six volunteers in ten have no error at all, the others are beta-binomial, mean 97 %',
    truth: 0.988,
  },
  { name: 'one in ten bad', description: 'one volunteer in ten has 90 %, the others 99.8 %', truth: 0.9882 },
  {
    name: 'one in twenty worse',
    description: 'one volunteer in twenty has 80 %, the others 99.8 %: fewer volunteers than this takes to be seen',
    truth: 0.9881,
  },
  {
    name: 'bursts',
    description: 'every volunteer has on average one burst of errors in 400 intervals, of 8 on average, geometric',
    truth: 0.98,
  },
];

export interface CoveredCase {
  readonly volunteers: number;
  readonly population: string;
  /** Of differences: whether the second recorder adds mistakes to the first's or has its own. */
  readonly second?: string;
  /** Shares of the studies whose interval held the truth. */
  readonly covered: Readonly<Partial<Record<IntervalName, number>>>;
}

export const segmentNames = ['errorRuns', 'blockBootstrap', 'ifIndependent'] as const;
const sources = ['alone', 'pairs', 'bursts of 5', 'bursts of 10', 'noisy stretches'];

export interface CoveredSegment {
  readonly intervals: number;
  /** True quality, as a fraction. */
  readonly quality: number;
  /** How the mistakes come. */
  readonly source: string;
  readonly covered: Readonly<Record<(typeof segmentNames)[number], number>>;
}

/*
 * Rows of measured-coverage.json. Of pooled: volunteers, place of the population, then shares in the order of the names; of
 * differences the same with 0 (adds) or 1 (own) before the shares; of segments: intervals, true quality, place of the
 * source, then shares.
 */
const named = <N extends string>(names: readonly N[], shares: readonly number[]) =>
  Object.fromEntries(names.map((name, i) => [name, shares[i]!])) as Record<N, number>;

export const measuredCoverage = {
  level: 0.95,
  /** Simulated studies a case, and bootstrap draws in each. */
  studies: 2000,
  draws: 500,
  segments: 2000,
  pooled: shares.pooled.map(
    ([volunteers, at, ...held]): CoveredCase => ({
      volunteers: volunteers!,
      population: populations[at!]!.name,
      covered: named(pooledNames, held),
    }),
  ),
  differences: shares.differences.map(
    ([volunteers, at, second, ...held]): CoveredCase => ({
      volunteers: volunteers!,
      population: populations[at!]!.name,
      second: second === 0 ? 'adds' : 'own',
      covered: named(differenceNames, held),
    }),
  ),
  ofSegments: shares.segments.map(
    ([intervals, quality, at, ...held]): CoveredSegment => ({
      intervals: intervals!,
      quality: quality!,
      source: sources[at!]!,
      covered: named(segmentNames, held),
    }),
  ),
} as const;

/** The simulated number of volunteers that is nearest to one at hand, the smaller of two as near. */
export function nearestSize(volunteers: number, cases: readonly CoveredCase[] = measuredCoverage.pooled): number {
  const apart = (n: number) => Math.abs(n - volunteers);
  return cases.reduce((best, c) => (apart(c.volunteers) < apart(best) ? c.volunteers : best), cases[0]!.volunteers);
}

/** Lowest and highest share held over the cases of one size, in whole studies of 100, e.g. '79 to 87'. */
export function heldOf100(
  name: IntervalName,
  size: number,
  cases: readonly CoveredCase[] = measuredCoverage.pooled,
): string {
  const held = cases.filter(c => c.volunteers === size).map(c => Math.floor(100 * c.covered[name]!));
  const [low, high] = [Math.min(...held), Math.max(...held)];
  return low === high ? String(low) : `${low} to ${high}`;
}

/** A 95 % interval that holds the truth less often than this is named as one that fails. */
export const leastHeld = 0.93;
