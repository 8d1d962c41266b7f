import { betaQuantile, regularizedBeta } from './incomplete-beta';

/** Probability functions that the confidence intervals rest on. Arguments outside the domain throw a RangeError. */

/**
 * Standard normal distribution function. |z| < 3: series of Marsaglia (J Stat Softw 2004;11(4)); beyond: Laplace's
 * continued fraction of the tail (Abramowitz & Stegun 26.2.14), so that small tails keep their relative precision.
 */
export function normalCdf(z: number): number {
  if (Number.isNaN(z)) throw new RangeError('normalCdf of NaN');
  const density = Math.exp(-0.5 * z * z) / Math.sqrt(2 * Math.PI);
  if (Math.abs(z) >= 3) {
    const tail = normalTail(Math.abs(z), density);
    return z < 0 ? tail : 1 - tail;
  }
  let term = z;
  let sum = z;
  for (let k = 3; Math.abs(term) > 1e-17 * Math.abs(sum); k += 2) {
    term *= (z * z) / k;
    sum += term;
  }
  return 0.5 + density * sum;
}

function normalTail(z: number, density: number): number {
  if (density === 0) return 0;
  let fraction = z;
  for (let k = 120; k >= 1; k--) fraction = z + k / fraction;
  return density / fraction;
}

const polynomial = (coefficients: readonly number[], x: number) => coefficients.reduceRight((sum, c) => sum * x + c, 0);

/* Coefficients of PPND16 as the nearest doubles, lowest power first: [numerator, denominator] for the centre, the shoulders, the far tails. */
const centre = [
  [
    3.3871328727963665, 133.14166789178438, 1971.5909503065513, 13731.69376550946, 45921.95393154987, 67265.7709270087,
    33430.57558358813, 2509.0809287301227,
  ],
  [
    1, 42.31333070160091, 687.1870074920579, 5394.196021424751, 21213.794301586597, 39307.89580009271,
    28729.085735721943, 5226.495278852854,
  ],
] as const;
const shoulder = [
  [
    1.4234371107496835, 4.630337846156546, 5.769497221460691, 3.6478483247632045, 1.2704582524523684,
    0.2417807251774506, 0.022723844989269184, 0.0007745450142783414,
  ],
  [
    1, 2.053191626637759, 1.6763848301838038, 0.6897673349851, 0.14810397642748008, 0.015198666563616457,
    0.0005475938084995345, 1.0507500716444169e-9,
  ],
] as const;
const farTail = [
  [
    6.657904643501103, 5.463784911164114, 1.7848265399172913, 0.29656057182850487, 0.026532189526576124,
    0.0012426609473880784, 2.7115555687434876e-5, 2.0103343992922881e-7,
  ],
  [
    1, 0.599832206555888, 0.1369298809227358, 0.014875361290850615, 0.0007868691311456133, 1.8463183175100548e-5,
    1.421511758316446e-7, 2.0442631033899397e-15,
  ],
] as const;

/** Standard normal quantile for 0 < p < 1: algorithm AS 241, PPND16 (Wichura, Appl Stat 1988;37:477). */
export function normalQuantile(p: number): number {
  if (!(p > 0 && p < 1)) throw new RangeError(`normalQuantile needs 0 < p < 1, not ${p}`);
  const q = p - 0.5;
  if (Math.abs(q) <= 0.425) {
    const r = 0.180625 - q * q;
    return (q * polynomial(centre[0], r)) / polynomial(centre[1], r);
  }
  const r = Math.sqrt(-Math.log(q < 0 ? p : 1 - p));
  const [top, bottom] = r <= 5 ? shoulder : farTail;
  const x = r - (r <= 5 ? 1.6 : 5);
  return (Math.sign(q) * polynomial(top, x)) / polynomial(bottom, x);
}

/** Student's t distribution function; df > 0, need not be whole (Abramowitz & Stegun 26.7.1 through the beta). */
export function tCdf(t: number, df: number): number {
  const tail = 0.5 * regularizedBeta(df / (df + t * t), df / 2, 0.5);
  return t < 0 ? tail : 1 - tail;
}

/** Quantile of Student's t for 0 < p < 1. */
export function tQuantile(p: number, df: number): number {
  if (!(p > 0 && p < 1)) throw new RangeError(`tQuantile needs 0 < p < 1, not ${p}`);
  if (p === 0.5) return 0;
  const { x, complement } = betaQuantile(2 * Math.min(p, 1 - p), df / 2, 0.5);
  return Math.sign(p - 0.5) * Math.sqrt((df * complement) / x);
}

/** Snedecor's F distribution function; df1, df2 > 0, need not be whole (Abramowitz & Stegun 26.6.2). */
export function fCdf(f: number, df1: number, df2: number): number {
  return f <= 0 ? 0 : regularizedBeta((df1 * f) / (df1 * f + df2), df1 / 2, df2 / 2);
}

/** Quantile of F for 0 < p < 1. */
export function fQuantile(p: number, df1: number, df2: number): number {
  if (!(p > 0 && p < 1)) throw new RangeError(`fQuantile needs 0 < p < 1, not ${p}`);
  const { x, complement } = betaQuantile(p, df1 / 2, df2 / 2);
  return (df2 * x) / (df1 * complement);
}

const knownQuantiles = new Map<string, number>();

/** `tQuantile`, kept: quantiles are asked for again and again with the same few numbers of volunteers. */
export function knownT(p: number, df: number): number {
  if (df > 1e6) return normalQuantile(p);
  const key = `${p} ${df}`;
  const value = knownQuantiles.get(key) ?? tQuantile(p, df);
  if (knownQuantiles.size < 1000) knownQuantiles.set(key, value);
  return value;
}
