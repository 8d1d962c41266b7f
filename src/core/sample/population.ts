/** One stretch as the arithmetic sees it, fixed before any stretch is reviewed. */
export interface SampledStretch {
  /** Bound on its number of intervals, above 0. */
  readonly bound: number;
  /** Index into the weights of the classes. */
  readonly group: number;
}

/** What is drawn from: stretches in order of time, in classes that are drawn with different weights. */
export interface Population {
  readonly stretches: readonly SampledStretch[];
  /** Weight g of each class, above 0: how much sooner its stretches are drawn than those of weight 1. */
  readonly weights: readonly number[];
}

/** How a stretch came to be reviewed. A known one was not drawn: the rater went there for another reason. */
export type StepKind = 'drawn' | 'known' | 'skipped';

/** One stretch after review, in the order in which they were reviewed. */
export interface Step {
  readonly stretch: number;
  readonly kind: StepKind;
  /** Wrong and lost intervals of the stretch, in [0, intervals]; not used for a skipped one. */
  readonly errors: number;
  /** Judged and lost intervals of the stretch; not used for a skipped one. */
  readonly intervals: number;
}

/** Bounds all multiplied by `factor`. */
export function scaleBounds(population: Population, factor: number): Population {
  if (factor === 1) return population;
  return { ...population, stretches: population.stretches.map(s => ({ ...s, bound: s.bound * factor })) };
}

/** Throws a RangeError when no stretch could be drawn from it. */
export function checkPopulation({ stretches, weights }: Population, alpha: number): void {
  if (stretches.length === 0) throw new RangeError('there is no stretch to sample');
  if (!(alpha > 0 && alpha < 1)) throw new RangeError(`alpha lies between 0 and 1, not at ${alpha}`);
  if (!weights.every(isPositive)) throw new RangeError('weights of classes are above 0');
  const bad = stretches.findIndex(s => !isPositive(s.bound) || weights[s.group] === undefined);
  if (bad >= 0) throw new RangeError(`stretch ${bad} needs a bound above 0 and one of the classes`);
}

/** Throws a RangeError unless 0 <= errors <= intervals. */
export function checkStep({ stretch, errors, intervals }: Step): void {
  // Lost intervals are fractions; summed in another order they may differ in the last place.
  const fits = errors >= 0 && Number.isFinite(intervals) && errors <= intervals * (1 + 1e-12);
  if (!fits) throw new RangeError(`stretch ${stretch} has ${errors} errors in ${intervals} intervals`);
}

const isPositive = (value: number) => Number.isFinite(value) && value > 0;
