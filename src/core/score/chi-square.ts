import { normalQuantile } from './distributions';
import { logGamma } from './incomplete-beta';

/** Regularized lower incomplete gamma P(a, x): series below a + 1, continued fraction above (DLMF 8.7.1, 8.9.2). */
function regularizedGamma(a: number, x: number): number {
  if (!(a > 0 && x >= 0)) throw new RangeError(`regularizedGamma(${a}, ${x})`);
  if (x === 0) return 0;
  const front = Math.exp(a * Math.log(x) - x - logGamma(a));
  return x < a + 1 ? front * series(a, x) : 1 - front * fraction(a, x);
}

function series(a: number, x: number): number {
  let term = 1 / a;
  let sum = term;
  for (let k = 1; term > 1e-17 * sum; k++) {
    term *= x / (a + k);
    sum += term;
  }
  return sum;
}

function fraction(a: number, x: number): number {
  let b = x + 1 - a;
  let c = 1e300;
  let d = 1 / b;
  let value = d;
  for (let k = 1; k < 100_000; k++) {
    const term = -k * (k - a);
    b += 2;
    d = 1 / (term * d + b);
    c = b + term / c;
    value *= c * d;
    if (Math.abs(c * d - 1) < 1e-16) break;
  }
  return value;
}

/** Quantile of the chi-square distribution, 0 < p < 1, df > 0: bisection around the Wilson-Hilferty value. */
export function chiSquareQuantile(p: number, df: number): number {
  const z = normalQuantile(p);
  const guess = df * Math.max(1e-3, 1 - 2 / (9 * df) + z * Math.sqrt(2 / (9 * df))) ** 3;
  let low = guess;
  let high = guess;
  while (regularizedGamma(df / 2, low / 2) > p) low /= 2;
  while (regularizedGamma(df / 2, high / 2) < p) high *= 2;
  for (let step = 0; step < 200 && high - low > 1e-15 * high; step++) {
    const middle = (low + high) / 2;
    if (regularizedGamma(df / 2, middle / 2) < p) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}
