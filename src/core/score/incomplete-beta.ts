/** The regularized incomplete beta function and its inverse, on which the t and F distributions rest. */

const lanczos = [
  0.9999999999998099, 676.5203681218851, -1259.1392167224028, 771.3234287776531, -176.6150291621406, 12.507343278686905,
  -0.13857109526572012, 9.984369578019572e-6, 1.5056327351493116e-7,
] as const;

/** log of the gamma function for x > 0: Lanczos approximation, g = 7 (SIAM J Numer Anal B 1964;1:86). */
export function logGamma(x: number): number {
  if (!(x > 0)) throw new RangeError(`logGamma needs x > 0, not ${x}`);
  if (x < 0.5) return Math.log(Math.PI / Math.sin(Math.PI * x)) - logGamma(1 - x);
  const t = x + 6.5;
  let sum: number = lanczos[0];
  for (let k = 1; k < lanczos.length; k++) sum += lanczos[k]! / (x - 1 + k);
  return 0.5 * Math.log(2 * Math.PI) + (x - 0.5) * Math.log(t) - t + Math.log(sum);
}

/** I_x(a, b) for 0 <= x <= 1 and a, b > 0: continued fraction of DLMF 8.17.22, evaluated after Lentz. */
export function regularizedBeta(x: number, a: number, b: number): number {
  if (!(x >= 0 && x <= 1 && a > 0 && b > 0)) throw new RangeError(`regularizedBeta(${x}, ${a}, ${b})`);
  if (x === 0 || x === 1) return x;
  return x < (a + 1) / (a + b + 2) ? lowerPart(x, 1 - x, a, b) : 1 - lowerPart(1 - x, x, b, a);
}

function lowerPart(x: number, complement: number, a: number, b: number): number {
  const logFront = logGamma(a + b) - logGamma(a) - logGamma(b) + a * Math.log(x) + b * Math.log(complement);
  return (Math.exp(logFront) / a) * continuedFraction(x, a, b);
}

function continuedFraction(x: number, a: number, b: number): number {
  const tiny = 1e-300;
  const away = (v: number) => (Math.abs(v) < tiny ? tiny : v);
  let c = 1;
  let d = 1 / away(1 - ((a + b) * x) / (a + 1));
  let value = d;
  for (let m = 1; m <= 10_000; m++) {
    const even = (m * (b - m) * x) / ((a + 2 * m - 1) * (a + 2 * m));
    const odd = (-(a + m) * (a + b + m) * x) / ((a + 2 * m) * (a + 2 * m + 1));
    let step = 1;
    for (let half = 0; half < 2; half++) {
      const term = half === 0 ? even : odd;
      d = 1 / away(1 + term * d);
      c = away(1 + term / c);
      step = d * c;
      value *= step;
    }
    if (Math.abs(step - 1) < 1e-16) break;
  }
  return value;
}

/**
 * The x with I_x(a, b) = p, and 1 - x beside it, since either may be tiny. Newton's method on the logarithm of the
 * smaller of the two, with bisection wherever a step would leave the bracket.
 */
export function betaQuantile(p: number, a: number, b: number): { x: number; complement: number } {
  if (p <= regularizedBeta(0.5, a, b)) {
    const x = lowerQuantile(p, a, b);
    return { x, complement: 1 - x };
  }
  const complement = lowerQuantile(1 - p, b, a);
  return { x: 1 - complement, complement };
}

/** The quantile where it is at most one half. */
function lowerQuantile(p: number, a: number, b: number): number {
  const logBeta = logGamma(a) + logGamma(b) - logGamma(a + b);
  let low = -700;
  let high = Math.log(0.5);
  // For small x, I_x(a, b) is near x^a / (a B(a, b)).
  let log = Math.min(high, Math.max(low, (Math.log(p * a) + logBeta) / a));
  for (let step = 0; step < 200; step++) {
    const x = Math.exp(log);
    const error = regularizedBeta(x, a, b) - p;
    if (error < 0) low = log;
    else high = log;
    const slope = Math.exp(a * log + (b - 1) * Math.log1p(-x) - logBeta);
    let next = log - error / slope;
    if (!(next > low && next < high)) next = (low + high) / 2;
    const done = Math.abs(next - log) <= 1e-15 * Math.abs(log);
    log = next;
    if (done) break;
  }
  return Math.exp(log);
}
