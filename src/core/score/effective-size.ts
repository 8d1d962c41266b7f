import { knownT } from './distributions';
import { betaQuantile } from './incomplete-beta';
import { type Estimate, type Interval, notComputable } from './result';

/**
 * Least intraclass correlation that an interval reckons with. Few volunteers who happen to be alike say little about
 * those who are not: own choice, the smallest of those tried that held the truth in every population simulated
 * (tests/reference/bootstrap).
 */
const leastCorrelation = { one: 0.05, difference: 0.02 } as const;

/** Variants and sources, for the report. Zou & Donner's paper is cited from memory. */
export const effectiveSizeMethod = `exact binomial interval (Clopper & Pearson, Biometrika 1934;26:404) at the effective sample size of the clustered sample, with volunteers - 1 degrees of freedom (Korn & Graubard, Surv Methodol 1998;24:193), the effective size being no larger than an intraclass correlation of ${leastCorrelation.one} within volunteers would leave`;
export const effectiveDifferenceMethod = `difference of two clustered proportions on the same volunteers by MOVER (Zou & Donner, Stat Med 2008;27:1693; correlated as in Newcombe, Stat Med 1998;17:2635, method 10) from the exact limits of each at its effective sample size (Korn & Graubard 1998), reckoning with an intraclass correlation of at least ${leastCorrelation.difference}`;

/** One recorder's parts of its wholes, a place for each participant. */
export interface Ratio {
  readonly parts: ArrayLike<number>;
  readonly wholes: ArrayLike<number>;
}

/**
 * Interval of Clopper and Pearson for `successes` of `size`, neither needing to be whole: quantiles of the beta
 * distribution. Fractions; the end is 0 or 1 where no part or all parts are successes.
 */
export function exactInterval(successes: number, size: number, level = 0.95): Interval {
  if (!(size > 0 && successes >= 0 && successes <= size)) {
    throw new RangeError(`not a proportion: ${successes} of ${size}`);
  }
  const tail = (1 - level) / 2;
  const failures = size - successes;
  return [
    successes === 0 ? 0 : betaQuantile(tail, successes, failures + 1).x,
    failures === 0 ? 1 : betaQuantile(tail, failures, successes + 1).complement,
  ];
}

interface Sums {
  /** Participants with a whole. */
  readonly n: number;
  readonly part: number;
  readonly whole: number;
  /** Variance of the pooled proportion by linearization, participants as clusters. */
  readonly variance: number;
  /** Mean size of the cluster that an interval is in. */
  readonly clusterSize: number;
}

function sumsOf({ parts, wholes }: Ratio): Sums {
  let n = 0;
  let part = 0;
  let whole = 0;
  let squaredSizes = 0;
  for (let i = 0; i < wholes.length; i++) {
    if (!(wholes[i]! > 0)) continue;
    n++;
    part += parts[i]!;
    whole += wholes[i]!;
    squaredSizes += wholes[i]! ** 2;
  }
  const value = part / whole;
  let squares = 0;
  for (let i = 0; i < wholes.length; i++) squares += (parts[i]! - value * wholes[i]!) ** 2;
  const variance = n > 1 ? ((n / (n - 1)) * squares) / whole ** 2 : 0;
  return { n, part, whole, variance, clusterSize: squaredSizes / whole };
}

/** Korn and Graubard's effective sample size, at most what the correlation given leaves of the whole. */
function effectiveSize({ n, part, whole, variance, clusterSize }: Sums, level: number, correlation: number): number {
  const most = whole / (1 + Math.max(0, clusterSize - 1) * correlation);
  const value = part / whole;
  // Less is rounding: every participant has the same proportion.
  if (!(variance > 1e-18) || whole <= 1) return most;
  const tail = 0.5 + level / 2;
  const shrink = (knownT(tail, whole - 1) / knownT(tail, n - 1)) ** 2;
  return Math.min(most, ((value * (1 - value)) / variance) * shrink);
}

/**
 * Pooled proportion sum(parts) / sum(wholes) over participants with the interval of `effectiveSizeMethod`, which exists
 * and has a width also where no participant has a mistake. Fractions; n = participants with a whole. Needs two of them.
 */
export function effectiveSizeRatio(
  parts: ArrayLike<number>,
  wholes: ArrayLike<number>,
  level = 0.95,
  correlation: number = leastCorrelation.one,
): Estimate {
  const sums = sumsOf({ parts, wholes });
  if (sums.n === 0) return notComputable('no interval to judge');
  const value = sums.part / sums.whole;
  const head = { value, n: sums.n, level };
  if (sums.n < 2) return { ...head, interval: null, intervalReason: 'needs two participants' };
  const size = effectiveSize(sums, level, correlation);
  // Rounding must not carry all parts of a whole past it.
  return { ...head, interval: exactInterval(Math.min(size, value * size), size, level) };
}

/**
 * Difference of two pooled proportions on the same participants, each with a whole in both, with the interval of
 * `effectiveDifferenceMethod`: always within -1 to 1. Fractions; n = participants. Needs two of them.
 */
export function effectiveSizeDifference(
  first: Ratio,
  second: Ratio,
  level = 0.95,
  correlation: number = leastCorrelation.difference,
): Estimate {
  const n = first.wholes.length;
  if (n === 0) return notComputable('no participant');
  const a = effectiveSizeRatio(first.parts, first.wholes, level, correlation);
  const b = effectiveSizeRatio(second.parts, second.wholes, level, correlation);
  if (a.value === null || b.value === null) return notComputable('no interval to judge');
  const value = a.value - b.value;
  if (!a.interval || !b.interval) return { value, n, level, interval: null, intervalReason: 'needs two participants' };
  const together = correlationOf(first, second);
  const reach = (one: number, other: number) =>
    Math.sqrt(Math.max(0, one * one + other * other - 2 * together * one * other));
  const low = reach(a.value - a.interval[0], b.interval[1] - b.value);
  const high = reach(a.interval[1] - a.value, b.value - b.interval[0]);
  return { value, n, level, interval: [Math.max(-1, value - low), Math.min(1, value + high)] };
}

/**
 * How the mistakes of two recorders go together over participants: Pearson's correlation of their distances from the
 * pooled proportion, not below 0 nor above 0.9 (own choice: few participants overstate it).
 */
function correlationOf(first: Ratio, second: Ratio): number {
  const a = sumsOf(first);
  const b = sumsOf(second);
  let ab = 0;
  let aa = 0;
  let bb = 0;
  for (let i = 0; i < first.wholes.length; i++) {
    const x = first.parts[i]! - (a.part / a.whole) * first.wholes[i]!;
    const y = second.parts[i]! - (b.part / b.whole) * second.wholes[i]!;
    ab += x * y;
    aa += x * x;
    bb += y * y;
  }
  return aa * bb > 1e-18 ? Math.max(0, Math.min(0.9, ab / Math.sqrt(aa * bb))) : 0;
}
