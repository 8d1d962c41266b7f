import { mean } from '../moments';
import { notComputable } from '../score/result';
import { allFinite, notANumber } from './finite';

/** Straight lines over the size of what is measured: bias = a + b x, and half the width of the limits = c + d x. */
export interface RegressionLimits {
  readonly value: number;
  /** Pairs. */
  readonly n: number;
  readonly biasAtZero: number;
  /** Change of the difference with the mean of both; the same as `value`. */
  readonly slope: number;
  readonly halfWidthAtZero: number;
  readonly halfWidthSlope: number;
}

export type RegressionLimitsResult = RegressionLimits | { readonly value: null; readonly reason: string };

/**
 * Limits of agreement by regression, for a bias or a spread that grows with the size (Bland & Altman, Stat Methods Med Res
 * 1999;8:135, section 3.2): differences a - b on means (a + b) / 2 by least squares, then the absolute residuals on the
 * means; limits are the first line -+ 1.96 sqrt(pi / 2) times the second.
 */
export function regressionLimits(a: ArrayLike<number>, b: ArrayLike<number>): RegressionLimitsResult {
  if (a.length !== b.length) throw new RangeError(`${a.length} values against ${b.length}`);
  const n = a.length;
  if (!allFinite(a, b)) return notComputable(notANumber);
  if (n < 3) return notComputable('needs three pairs');
  // Plain loops: of RR there are tens of thousands.
  const means = new Float64Array(n);
  const differences = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    means[i] = (a[i]! + b[i]!) / 2;
    differences[i] = a[i]! - b[i]!;
  }
  const bias = line(means, differences);
  if (!bias) return notComputable('the means do not differ');
  const off = new Float64Array(n);
  for (let i = 0; i < n; i++) off[i] = Math.abs(differences[i]! - bias.at - bias.slope * means[i]!);
  const spread = line(means, off)!;
  const stretch = 1.96 * Math.sqrt(Math.PI / 2);
  return {
    value: bias.slope,
    n,
    biasAtZero: bias.at,
    slope: bias.slope,
    halfWidthAtZero: stretch * spread.at,
    halfWidthSlope: stretch * spread.slope,
  };
}

function line(x: Float64Array, y: Float64Array): { at: number; slope: number } | null {
  const mx = mean(x);
  const my = mean(y);
  let sxx = 0;
  let sxy = 0;
  for (let i = 0; i < x.length; i++) {
    const off = x[i]! - mx;
    sxx += off * off;
    sxy += off * (y[i]! - my);
  }
  if (!(sxx > 1e-12 * (1 + mx * mx) * x.length)) return null;
  const slope = sxy / sxx;
  return { at: my - slope * mx, slope };
}
