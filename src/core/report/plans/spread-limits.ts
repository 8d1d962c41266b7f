import { mean } from '../../moments';
import { fQuantile, normalQuantile } from '../../score/distributions';

/** Upper limits of a standard deviation, as multiples of that of a pilot. */

/**
 * The larger of two one-sided limits, for a pilot of at least three different values: Browne's with degrees of freedom by the
 * kurtosis of the values, and Bonett's.
 */
export function upperLimitOfPilot(values: readonly number[], confidence: number): number {
  const df = effectiveDegrees(values.length, Math.max(0, excessKurtosis(values)));
  return Math.max(upperLimitOfSpread(df + 1, confidence), upperLimitFarFromNormal(values, confidence));
}

/**
 * The one-sided upper limit at this confidence for n values that are roughly normal (Browne, Stat Med 1995;14:1933):
 * sqrt((n - 1) / chi-squared). n need not be whole.
 */
export function upperLimitOfSpread(n: number, confidence: number): number {
  // An F variate with this many degrees below the line is chi-squared over those above it.
  return 1 / Math.sqrt(fQuantile(1 - confidence, n - 1, 1e7));
}

/**
 * Degrees of freedom of the chi-squared variate that varies as the variance of n values with this excess kurtosis does
 * (Box, Biometrika 1953;40:318, from memory; it follows from Var(s2) / sigma^4 = 2 / (n - 1) + excess / n).
 */
export function effectiveDegrees(n: number, excess: number): number {
  return (n - 1) / (1 + (excess * (n - 1)) / (2 * n));
}

/** Unbiased for normal values (G2 of Joanes & Gill, J R Stat Soc D 1998;47:183); 0 for three values, which say nothing of it. */
export function excessKurtosis(values: readonly number[]): number {
  const n = values.length;
  if (n < 4) return 0;
  const own = mean(values);
  const powers = (power: number) => values.reduce((sum, v) => sum + (v - own) ** power, 0);
  const biased = (n * powers(4)) / powers(2) ** 2 - 3;
  return ((n - 1) * ((n + 1) * biased + 6)) / ((n - 2) * (n - 3));
}

/**
 * The one-sided upper limit at this confidence for values of any distribution (Bonett, Comput Stat Data Anal 2006;50:775).
 * Kurtosis is taken about the mean trimmed by 1 / (2 sqrt(n - 4)) at either end, about the median of up to five values.
 */
export function upperLimitFarFromNormal(values: readonly number[], confidence: number): number {
  const n = values.length;
  const z = normalQuantile(confidence);
  const trimmed = Math.min(Math.floor(n / (2 * Math.sqrt(Math.max(n - 4, 1)))), (n - 1) >> 1);
  const middle = mean([...values].sort((a, b) => a - b).slice(trimmed, n - trimmed));
  const own = mean(values);
  const powers = (from: number, power: number) => values.reduce((sum, v) => sum + (v - from) ** power, 0);
  const kurtosis = (n * powers(middle, 4)) / powers(own, 2) ** 2;
  const small = n > z ? n / (n - z) : Number.POSITIVE_INFINITY;
  const error = small * Math.sqrt(Math.max(0, (kurtosis - (n - 3) / n) / (n - 1)));
  return Math.sqrt(small * Math.exp(z * error));
}
