import { tQuantile } from './distributions';
import { type Estimate, notComputable } from './result';

/** Variant and source, for the report. */
export const clusterRatioMethod =
  'pooled proportion, variance linearized with participants as clusters, t interval with participants - 1 df on the logit scale (Dean & Pagano, J Surv Stat Methodol 2015;3:484)';

/**
 * Pooled proportion sum(parts) / sum(wholes) over participants, with the interval of `clusterRatioMethod`. In simulated
 * studies of eight participants it held the truth more often than the bootstrap intervals. Fractions; n = participants
 * with a whole.
 */
export function clusterRatio(parts: ArrayLike<number>, wholes: ArrayLike<number>, level = 0.95): Estimate {
  return clusterRatioBy(parts, wholes, level, n => tQuantile(0.5 + level / 2, n - 1));
}

/** The same with the t quantile for n participants given, for callers that need it thousands of times. */
export function clusterRatioBy(
  parts: ArrayLike<number>,
  wholes: ArrayLike<number>,
  level: number,
  quantile: (participants: number) => number,
): Estimate {
  let n = 0;
  let part = 0;
  let whole = 0;
  for (let i = 0; i < wholes.length; i++) {
    if (wholes[i]! > 0) n++;
    part += parts[i]!;
    whole += wholes[i]!;
  }
  if (whole === 0) return notComputable('no interval to judge');
  const value = part / whole;
  const none = (intervalReason: string): Estimate => ({ value, n, level, interval: null, intervalReason });
  if (n < 2) return none('needs two participants');
  if (part === 0 || part === whole) return none('all alike: the logit scale has no end');
  let squares = 0;
  for (let i = 0; i < wholes.length; i++) squares += (parts[i]! - value * wholes[i]!) ** 2;
  if (squares < 1e-18 * whole * whole) return none('every participant has the same proportion');
  const standardError = Math.sqrt((n / (n - 1)) * squares) / whole;
  const centre = Math.log(value / (1 - value));
  const half = (quantile(n) * standardError) / (value * (1 - value));
  return { value, n, level, interval: [logistic(centre - half), logistic(centre + half)] };
}

function logistic(x: number): number {
  return 1 / (1 + Math.exp(-x));
}
