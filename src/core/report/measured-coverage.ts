import type { BootstrapIntervals } from '../score/bootstrap';

/**
 * How often 95 % intervals held the truth in simulated studies, as stored with its script in tests/reference/bootstrap
 * (coverage.ts, coverage.json); a test holds the two equal. Quality is beta-binomial over volunteers.
 */

export type IntervalName =
  | keyof Pick<BootstrapIntervals, 'percentile' | 'expandedPercentile' | 'bca' | 'expandedBca'>
  | 'bootstrapT'
  | 'jackknife';

export interface CoveredCase {
  readonly volunteers: number;
  /** True mean quality of volunteers, as a fraction. */
  readonly meanQuality: number;
  /** Shares of the studies whose interval held the truth. */
  readonly covered: Readonly<Record<IntervalName, number>>;
}

export interface MeasuredCoverage {
  readonly level: number;
  /** Simulated studies a case. */
  readonly studies: number;
  readonly draws: number;
  readonly pooled: readonly CoveredCase[];
  readonly differences: readonly CoveredCase[];
}

export const measuredCoverage: MeasuredCoverage = {
  level: 0.95,
  studies: 2000,
  draws: 1000,
  pooled: [
    {
      volunteers: 8,
      meanQuality: 0.9,
      covered: {
        percentile: 0.8705,
        expandedPercentile: 0.9245,
        bca: 0.879,
        expandedBca: 0.9255,
        bootstrapT: 0.9565,
        jackknife: 0.951,
      },
    },
    {
      volunteers: 8,
      meanQuality: 0.97,
      covered: {
        percentile: 0.846,
        expandedPercentile: 0.9125,
        bca: 0.861,
        expandedBca: 0.9255,
        bootstrapT: 0.9525,
        jackknife: 0.944,
      },
    },
    {
      volunteers: 8,
      meanQuality: 0.99,
      covered: {
        percentile: 0.7955,
        expandedPercentile: 0.8505,
        bca: 0.8185,
        expandedBca: 0.878,
        bootstrapT: 0.9295,
        jackknife: 0.9395,
      },
    },
    {
      volunteers: 8,
      meanQuality: 0.997,
      covered: {
        percentile: 0.8175,
        expandedPercentile: 0.876,
        bca: 0.8435,
        expandedBca: 0.902,
        bootstrapT: 0.932,
        jackknife: 0.975,
      },
    },
    {
      volunteers: 16,
      meanQuality: 0.9,
      covered: {
        percentile: 0.916,
        expandedPercentile: 0.9435,
        bca: 0.9185,
        expandedBca: 0.9455,
        bootstrapT: 0.955,
        jackknife: 0.952,
      },
    },
    {
      volunteers: 16,
      meanQuality: 0.97,
      covered: {
        percentile: 0.8995,
        expandedPercentile: 0.924,
        bca: 0.9055,
        expandedBca: 0.9315,
        bootstrapT: 0.949,
        jackknife: 0.948,
      },
    },
    {
      volunteers: 16,
      meanQuality: 0.99,
      covered: {
        percentile: 0.866,
        expandedPercentile: 0.8995,
        bca: 0.882,
        expandedBca: 0.915,
        bootstrapT: 0.9385,
        jackknife: 0.9325,
      },
    },
    {
      volunteers: 16,
      meanQuality: 0.997,
      covered: {
        percentile: 0.867,
        expandedPercentile: 0.8905,
        bca: 0.887,
        expandedBca: 0.9175,
        bootstrapT: 0.9305,
        jackknife: 0.951,
      },
    },
    {
      volunteers: 32,
      meanQuality: 0.9,
      covered: {
        percentile: 0.9425,
        expandedPercentile: 0.9515,
        bca: 0.9435,
        expandedBca: 0.9575,
        bootstrapT: 0.9575,
        jackknife: 0.9575,
      },
    },
    {
      volunteers: 32,
      meanQuality: 0.97,
      covered: {
        percentile: 0.9085,
        expandedPercentile: 0.9245,
        bca: 0.92,
        expandedBca: 0.9335,
        bootstrapT: 0.941,
        jackknife: 0.94,
      },
    },
    {
      volunteers: 32,
      meanQuality: 0.99,
      covered: {
        percentile: 0.8985,
        expandedPercentile: 0.9125,
        bca: 0.909,
        expandedBca: 0.92,
        bootstrapT: 0.9355,
        jackknife: 0.9325,
      },
    },
    {
      volunteers: 32,
      meanQuality: 0.997,
      covered: {
        percentile: 0.911,
        expandedPercentile: 0.923,
        bca: 0.915,
        expandedBca: 0.928,
        bootstrapT: 0.938,
        jackknife: 0.948,
      },
    },
  ],
  differences: [
    {
      volunteers: 8,
      meanQuality: 0.97,
      covered: {
        percentile: 0.8615,
        expandedPercentile: 0.921,
        bca: 0.866,
        expandedBca: 0.9155,
        bootstrapT: 0.9405,
        jackknife: 0.9235,
      },
    },
    {
      volunteers: 8,
      meanQuality: 0.99,
      covered: {
        percentile: 0.8605,
        expandedPercentile: 0.9235,
        bca: 0.8655,
        expandedBca: 0.9215,
        bootstrapT: 0.945,
        jackknife: 0.9285,
      },
    },
    {
      volunteers: 16,
      meanQuality: 0.97,
      covered: {
        percentile: 0.8985,
        expandedPercentile: 0.9255,
        bca: 0.8985,
        expandedBca: 0.925,
        bootstrapT: 0.934,
        jackknife: 0.926,
      },
    },
    {
      volunteers: 16,
      meanQuality: 0.99,
      covered: {
        percentile: 0.9025,
        expandedPercentile: 0.9295,
        bca: 0.9015,
        expandedBca: 0.9325,
        bootstrapT: 0.939,
        jackknife: 0.9335,
      },
    },
    {
      volunteers: 32,
      meanQuality: 0.97,
      covered: {
        percentile: 0.925,
        expandedPercentile: 0.938,
        bca: 0.922,
        expandedBca: 0.9385,
        bootstrapT: 0.946,
        jackknife: 0.938,
      },
    },
    {
      volunteers: 32,
      meanQuality: 0.99,
      covered: {
        percentile: 0.9145,
        expandedPercentile: 0.9295,
        bca: 0.9145,
        expandedBca: 0.9285,
        bootstrapT: 0.9355,
        jackknife: 0.9285,
      },
    },
  ],
};

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
  const held = cases.filter(c => c.volunteers === size).map(c => Math.round(100 * c.covered[name]));
  const [low, high] = [Math.min(...held), Math.max(...held)];
  return low === high ? String(low) : `${low} to ${high}`;
}
