import type { NnSeries } from './nn';

/** NN intervals as an evenly sampled series. */
export interface Tachogram {
  readonly rateHz: number;
  readonly startSeconds: number;
  readonly valuesMs: Float64Array;
  /** Breaks in the series that the spline runs through, and their length in s. */
  readonly bridgedBreaks: number;
  readonly bridgedSeconds: number;
}

/**
 * Resamples the intervals, each at the beat that ends it, by a natural cubic spline (de Boor, A Practical Guide to
 * Splines, ch. IV) from the first to the last beat. Needs three intervals.
 */
export function tachogram(series: NnSeries, rateHz = 4): Tachogram {
  const { timesSeconds: t, intervalsMs: y } = series;
  if (t.length < 3) throw new RangeError('a tachogram needs three intervals');
  const curvature = naturalCurvature(t, y);
  const n = Math.floor((t.at(-1)! - t[0]!) * rateHz + 1e-9) + 1;
  const valuesMs = new Float64Array(n);
  for (let i = 0, k = 0; i < n; i++) {
    const at = t[0]! + i / rateHz;
    while (k + 2 < t.length && t[k + 1]! < at) k++;
    const h = t[k + 1]! - t[k]!;
    const a = (t[k + 1]! - at) / h;
    const b = 1 - a;
    const bent = (a * a * a - a) * curvature[k]! + (b * b * b - b) * curvature[k + 1]!;
    valuesMs[i] = a * y[k]! + b * y[k + 1]! + (bent * h * h) / 6;
  }
  return { rateHz, startSeconds: t[0]!, valuesMs, ...breaks(series) };
}

/** Second derivatives at the knots, 0 at both ends; tridiagonal elimination. */
function naturalCurvature(t: Float64Array, y: Float64Array): Float64Array {
  const n = t.length;
  const curvature = new Float64Array(n);
  const upper = new Float64Array(n);
  for (let i = 1; i + 1 < n; i++) {
    const before = t[i]! - t[i - 1]!;
    const after = t[i + 1]! - t[i]!;
    const right = (6 * ((y[i + 1]! - y[i]!) / after - (y[i]! - y[i - 1]!) / before)) / (before + after);
    const low = before / (before + after);
    const pivot = 2 - low * upper[i - 1]!;
    upper[i] = (1 - low) / pivot;
    curvature[i] = (right - low * curvature[i - 1]!) / pivot;
  }
  for (let i = n - 2; i >= 1; i--) curvature[i] = curvature[i]! - upper[i]! * curvature[i + 1]!;
  return curvature;
}

function breaks({ timesSeconds, intervalsMs, adjacent }: NnSeries) {
  let bridgedBreaks = 0;
  let bridgedSeconds = 0;
  for (let i = 1; i < adjacent.length; i++) {
    if (adjacent[i] === 1) continue;
    bridgedBreaks++;
    bridgedSeconds += timesSeconds[i]! - timesSeconds[i - 1]! - intervalsMs[i]! / 1000;
  }
  return { bridgedBreaks, bridgedSeconds };
}
