/**
 * Noise made white by what its recent past predicts of it: an autoregressive model by the Levinson-Durbin recursion.
 * Source: Makhoul, Proc IEEE 1975;63:561. A filter matched to the whitened shape is the best linear one among noise of
 * that spectrum (Kay, Fundamentals of Statistical Signal Processing, vol. 2, ch. 4).
 */
/** White noise added to the model, as a share of the power: keeps it from leaning on what is not there. */
const whiteShare = 1e-3;

export interface NoiseModel {
  /** Prediction error filter, the first coefficient 1. */
  readonly filter: Float64Array;
  /** Standard deviation of the prediction error; 0 where there is no signal. */
  readonly deviation: number;
}

/** Model of `x[from..to)` from `order` steps before each. */
export function noiseModel(x: Float32Array, from: number, to: number, order: number): NoiseModel {
  const r = new Float64Array(order + 1);
  for (let lag = 0; lag <= order; lag += 4) addProducts(x, from, to, lag, Math.min(4, order + 1 - lag), r);
  for (let lag = 0; lag <= order; lag++) r[lag]! /= Math.max(1, to - from);
  r[0]! *= 1 + whiteShare;
  const filter = new Float64Array(order + 1);
  filter[0] = 1;
  let error = r[0]!;
  if (!(error > 0)) return { filter, deviation: 0 };
  const before = new Float64Array(order + 1);
  for (let m = 1; m <= order; m++) {
    let sum = r[m]!;
    for (let k = 1; k < m; k++) sum += filter[k]! * r[m - k]!;
    const reflection = -sum / error;
    before.set(filter);
    for (let k = 1; k < m; k++) filter[k] = before[k]! + reflection * before[m - k]!;
    filter[m] = reflection;
    error *= 1 - reflection * reflection;
  }
  return { filter, deviation: Math.sqrt(error) };
}

/** Sums of products of `x[from..to)` with itself at `count` (1 to 4) lags from `lag` on, side by side. */
function addProducts(x: Float32Array, from: number, to: number, lag: number, count: number, r: Float64Array): void {
  const sums = [0, 0, 0, 0];
  // The first places have fewer values before them.
  const start = Math.min(to, from + lag + 3);
  for (let m = 0; m < count; m++) for (let i = from + lag + m; i < start; i++) sums[m]! += x[i]! * x[i - lag - m]!;
  let [a, b, c, d] = sums as [number, number, number, number];
  for (let i = start, k = start - lag; i < to; i++, k++) {
    const v = x[i]!;
    a += v * x[k]!;
    b += v * x[k - 1]!;
    c += v * x[k - 2]!;
    d += v * x[k - 3]!;
  }
  const all = [a, b, c, d];
  for (let m = 0; m < count; m++) r[lag + m] = all[m]!;
}

/** `out[k]` is the prediction error of `x[from + k]`, in standard deviations; before the start of x lie zeros. */
export function whiten(x: Float32Array, from: number, count: number, model: NoiseModel, out: Float32Array): void {
  const { filter, deviation } = model;
  const order = filter.length - 1;
  const scale = deviation > 0 ? 1 / deviation : 0;
  let k = 0;
  for (; k < count && from + k < order; k++) out[k] = scale * errorAt(x, from + k, filter, from + k);
  for (; k + 1 < count; k += 2) {
    // Two side by side: the next term of one need not wait for the other.
    let a = 0;
    let b = 0;
    const i = from + k;
    for (let m = 0; m <= order; m++) {
      const f = filter[m]!;
      a += f * x[i - m]!;
      b += f * x[i + 1 - m]!;
    }
    out[k] = a * scale;
    out[k + 1] = b * scale;
  }
  if (k < count) out[k] = scale * errorAt(x, from + k, filter, order);
}

function errorAt(x: Float32Array, i: number, filter: Float64Array, last: number): number {
  let sum = 0;
  for (let m = 0; m <= last; m++) sum += filter[m]! * x[i - m]!;
  return sum;
}
