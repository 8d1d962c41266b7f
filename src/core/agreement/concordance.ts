import { mean, sumOfSquares } from '../moments';
import { normalQuantile } from '../score/distributions';
import { type Estimate, notComputable } from '../score/result';
import { allFinite, notANumber } from './finite';

/**
 * Lin's concordance correlation coefficient with divisor n in the moments (Lin, Biometrics 1989;45:255) and the interval
 * by Fisher's z with its asymptotic variance as corrected in Biometrics 2000;56:324. Pairs are taken as independent.
 */
export function linConcordance(x: ArrayLike<number>, y: ArrayLike<number>, level = 0.95): Estimate {
  if (x.length !== y.length) throw new RangeError(`${x.length} values against ${y.length}`);
  const n = x.length;
  if (!allFinite(x, y)) return notComputable(notANumber);
  if (n < 3) return notComputable('needs three pairs');
  const meanX = mean(x);
  const meanY = mean(y);
  const varX = sumOfSquares(x) / n;
  const varY = sumOfSquares(y) / n;
  let covariance = 0;
  for (let i = 0; i < n; i++) covariance += (x[i]! - meanX) * (y[i]! - meanY);
  covariance /= n;
  const spread = varX + varY + (meanX - meanY) ** 2;
  if (spread === 0) return notComputable('all values are the same');
  if (varX < 1e-24 * (meanX * meanX + 1e-300) || varY < 1e-24 * (meanY * meanY + 1e-300)) {
    return notComputable('one side does not vary, so nothing can go together');
  }
  const value = (2 * covariance) / spread;
  const r = covariance / Math.sqrt(varX * varY);
  const shift = (meanX - meanY) ** 2 / Math.sqrt(varX * varY);
  if (Math.abs(value) > 1 - 1e-12 || r === 0) {
    return { value, n, level, interval: null, intervalReason: 'the variance of z has no value at 0 or at 1' };
  }
  const half = normalQuantile(0.5 + level / 2) * Math.sqrt(zVariance(value, r, shift) / (n - 2));
  const z = Math.atanh(value);
  return { value, n, level, interval: [Math.tanh(z - half), Math.tanh(z + half)] };
}

/** (n - 2) times the variance of atanh(c); `shift` is the squared location shift u^2 relative to the scale. */
function zVariance(c: number, r: number, shift: number): number {
  const rest = 1 - c * c;
  return (
    ((1 - r * r) * c * c) / (rest * r * r) +
    (2 * c ** 3 * (1 - c) * shift) / (r * rest * rest) -
    (c ** 4 * shift * shift) / (2 * r * r * rest * rest)
  );
}
