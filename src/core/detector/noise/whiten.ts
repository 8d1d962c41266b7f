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
  for (let lag = 0; lag <= order; lag++) {
    let sum = 0;
    for (let i = from + lag; i < to; i++) sum += x[i]! * x[i - lag]!;
    r[lag] = sum / Math.max(1, to - from);
  }
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

/** `out[k]` is the prediction error of `x[from + k]`, in standard deviations; before the start of x lie zeros. */
export function whiten(x: ArrayLike<number>, from: number, count: number, model: NoiseModel, out: Float32Array): void {
  const { filter, deviation } = model;
  const order = filter.length - 1;
  const scale = deviation > 0 ? 1 / deviation : 0;
  for (let k = 0, i = from; k < count; k++, i++) {
    let sum = 0;
    const last = Math.min(order, i);
    for (let m = 0; m <= last; m++) sum += filter[m]! * (x[i - m] ?? 0);
    out[k] = sum * scale;
  }
}
