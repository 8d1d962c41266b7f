/** Sums over plain lists of numbers. All need at least the stated count and throw a RangeError below it. */

export function mean(values: ArrayLike<number>): number {
  if (values.length === 0) throw new RangeError('mean of nothing');
  let sum = 0;
  for (let i = 0; i < values.length; i++) sum += values[i]!;
  return sum / values.length;
}

/** Sum of squared deviations from the mean. */
export function sumOfSquares(values: ArrayLike<number>): number {
  const centre = mean(values);
  let sum = 0;
  for (let i = 0; i < values.length; i++) sum += (values[i]! - centre) ** 2;
  return sum;
}

/** Sample variance, divisor n - 1; needs two values. */
export function variance(values: ArrayLike<number>): number {
  if (values.length < 2) throw new RangeError('variance needs two values');
  return sumOfSquares(values) / (values.length - 1);
}

/** Sample standard deviation, divisor n - 1; needs two values. */
export function standardDeviation(values: ArrayLike<number>): number {
  return Math.sqrt(variance(values));
}

/** Quantile of a sorted list, linear between order statistics (type 7 of Hyndman & Fan, Am Stat 1996;50:361). */
export function sortedQuantile(sorted: ArrayLike<number>, p: number): number {
  if (sorted.length === 0 || !(p >= 0 && p <= 1)) throw new RangeError(`quantile ${p} of ${sorted.length} values`);
  const at = p * (sorted.length - 1);
  const low = Math.floor(at);
  const first = sorted[low]!;
  return low + 1 < sorted.length ? first + (at - low) * (sorted[low + 1]! - first) : first;
}

/** Median; the mean of the middle two of an even number. Leaves its input alone. */
export function median(values: ArrayLike<number>): number {
  return sortedQuantile(new Float64Array(values).sort(), 0.5);
}
