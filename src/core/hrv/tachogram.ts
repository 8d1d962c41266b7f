import type { NnSeries } from './nn';

/** NN intervals as an evenly sampled series. */
export interface Tachogram {
  readonly rateHz: number;
  readonly startSeconds: number;
  readonly valuesMs: Float64Array;
}

/**
 * Resamples the intervals, each at the beat that ends it, by a shape-preserving piecewise cubic from the first to the
 * last beat: monotone between the intervals, so that a mistake makes no overshoot (Fritsch & Carlson, SIAM J Numer Anal
 * 1980;17:238; slopes by the weighted harmonic mean of Fritsch & Butland, SIAM J Sci Stat Comput 1984;5:300, ends by the
 * three-point formula). Needs three intervals.
 */
export function tachogram({ timesSeconds: t, intervalsMs: y }: NnSeries, rateHz = 4): Tachogram {
  if (t.length < 3) throw new RangeError('a tachogram needs three intervals');
  const slopes = monotoneSlopes(t, y);
  const n = Math.floor((t.at(-1)! - t[0]!) * rateHz + 1e-9) + 1;
  const valuesMs = new Float64Array(n);
  for (let i = 0, k = 0; i < n; i++) {
    const at = t[0]! + i / rateHz;
    while (k + 2 < t.length && t[k + 1]! < at) k++;
    const h = t[k + 1]! - t[k]!;
    const u = (at - t[k]!) / h;
    const rest = 1 - u;
    const bent = u * rest * h * (slopes[k]! * rest - slopes[k + 1]! * u);
    valuesMs[i] = y[k]! * (1 + 2 * u) * rest * rest + y[k + 1]! * (3 - 2 * u) * u * u + bent;
  }
  return { rateHz, startSeconds: t[0]!, valuesMs };
}

function monotoneSlopes(t: Float64Array, y: Float64Array): Float64Array {
  const n = t.length;
  const slopes = new Float64Array(n);
  // One after the other as plain numbers: a tachogram is made for every stretch of every series.
  let width = t[1]! - t[0]!;
  let rise = (y[1]! - y[0]!) / width;
  const first = { width, rise };
  let last = first;
  for (let i = 1; i + 1 < n; i++) {
    const nextWidth = t[i + 1]! - t[i]!;
    const nextRise = (y[i + 1]! - y[i]!) / nextWidth;
    if (i === 1) slopes[0] = endSlope(first.width, nextWidth, first.rise, nextRise);
    if (i + 2 === n) last = { width, rise };
    if (rise * nextRise > 0) {
      const w1 = 2 * nextWidth + width;
      const w2 = nextWidth + 2 * width;
      slopes[i] = (w1 + w2) / (w1 / rise + w2 / nextRise);
    }
    width = nextWidth;
    rise = nextRise;
  }
  slopes[n - 1] = endSlope(width, last.width, rise, last.rise);
  return slopes;
}

/** Slope at an end from the nearest two pieces, held to the shape of the nearest. */
function endSlope(nearWidth: number, nextWidth: number, near: number, next: number): number {
  const slope = ((2 * nearWidth + nextWidth) * near - nearWidth * next) / (nearWidth + nextWidth);
  if (slope * near <= 0) return 0;
  return near * next <= 0 && Math.abs(slope) > 3 * Math.abs(near) ? 3 * near : slope;
}
