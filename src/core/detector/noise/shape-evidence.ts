import type { Family } from './families';
import type { NoiseTuning } from './tuning';
import { type NoiseModel, noiseModel, whiten } from './whiten';

/**
 * How much more likely the signal around each place is with a beat of a known family than with noise alone: matched
 * filters after whitening in time, and between leads, so that what two leads have in common drops out. Noise of
 * electrodes comes in bursts; as a multivariate t variable, a loud burst says little for or against a beat, and a lead
 * that is louder than usual here weighs less than the others.
 * Sources: matched filter and generalised matched filter, Kay, Fundamentals of Statistical Signal Processing, vol. 2,
 * ch. 4 and 13; multivariate t noise, Lange, Little & Taylor, J Am Stat Assoc 1989;84:881 (from memory).
 */
export interface ShapeEvidence {
  /** Log-odds of a beat, per fine step. */
  readonly odds: Float32Array;
  /** The most likely family, its number among those given. */
  readonly family: Uint8Array;
}

/**
 * Beats fall short of their family for seconds, as after a jolt or when the heart turns: a shape may be down to this share
 * of its size. It costs so much of the log-odds in each lead that beats as usual are found as before.
 */
const smallest = 0.5;
const smallCost = 10;
/** Shapes fade out over this many steps at either end. */
const taper = 5;
/** The noise is taken to stay the same over this many fine steps, and its model is made of as many on either side too. */
export const blockSteps = 1000;
export const aroundSteps = 500;

export interface EvidenceInput {
  /** Per lead: the signal, and what is left of it without the beats found so far, in fine steps. */
  readonly fine: readonly Float32Array[];
  readonly residual: readonly Float32Array[];
  readonly count: number;
  readonly families: readonly Family[];
  readonly halfSteps: number;
  readonly tuning: NoiseTuning;
}

/** Fills the evidence for fine steps [from, to), which lie in one block. */
export function fillShapeEvidence(input: EvidenceInput, from: number, to: number, out: ShapeEvidence): void {
  const { fine, residual, count, families, halfSteps, tuning } = input;
  const lo = Math.max(0, from - aroundSteps);
  const hi = Math.min(count, to + aroundSteps);
  const models = residual.map(x => noiseModel(x, lo, hi, tuning.order));
  const unmix = decorrelation(residual, models, lo, hi);
  const length = 2 * halfSteps + 1 + tuning.order;
  const start = from - halfSteps;
  const n = to - from + length;
  const white = mixed(
    unmix,
    fine.map((x, lead) => whitened(x, start, n, count, models[lead]!)),
  );
  const total = families.reduce((sum, f) => sum + f.weight, 0);
  const around = white.map(u => powerAround(u, to - from, length, tuning.degrees));
  for (const [number, family] of families.entries()) {
    const shapes = mixed(
      unmix,
      family.shape.map((s, lead) => whitenedShape(s, length, models[lead]!)),
    );
    const prior = Math.log(family.weight / total);
    const sum = new Float32Array(to - from);
    for (const [lead, shape] of shapes.entries()) addOdds(white[lead]!, around[lead]!, shape, tuning.degrees, sum);
    for (let k = 0; k < sum.length; k++) {
      const value = tuning.trust * sum[k]! + prior;
      if (number > 0 && value <= out.odds[from + k]!) continue;
      out.odds[from + k] = value;
      out.family[from + k] = number;
    }
  }
}

/** Whitened signal from fine step `start` on, zero outside the window. */
function whitened(x: Float32Array, start: number, n: number, count: number, model: NoiseModel): Float32Array {
  const out = new Float32Array(n);
  const skip = Math.max(0, -start);
  const inside = Math.min(n, count - start) - skip;
  if (inside > 0) whiten(x, start + skip, inside, model, out.subarray(skip, skip + inside));
  return out;
}

function whitenedShape(shape: Float32Array, length: number, model: NoiseModel): Float32Array {
  const padded = new Float32Array(length);
  padded.set(shape);
  for (let k = 0; k < taper; k++) {
    padded[k]! *= (k + 1) / (taper + 1);
    padded[shape.length - 1 - k]! *= (k + 1) / (taper + 1);
  }
  const out = new Float32Array(length);
  whiten(padded, 0, length, model, out);
  return out;
}

/** Sum of squares over `length` steps from each of `n` places, plus the degrees of freedom. */
function powerAround(u: Float32Array, n: number, length: number, degrees: number): Float32Array {
  const out = new Float32Array(n);
  let sum = degrees;
  for (let k = 0; k < length; k++) sum += u[k]! * u[k]!;
  for (let k = 0; k < n; k++) {
    out[k] = sum;
    sum += u[k + length]! * u[k + length]! - u[k]! * u[k]!;
  }
  return out;
}

function addOdds(u: Float32Array, around: Float32Array, shape: Float32Array, degrees: number, out: Float32Array): void {
  let energy = 0;
  for (const v of shape) energy += v * v;
  if (energy === 0) return;
  const half = 0.5 * (degrees + shape.length);
  // Of the larger of two likelihoods only one logarithm is needed.
  const dearer = Math.exp(smallCost / half);
  const add = (k: number, product: number) => {
    const size = Math.max(smallest, product / energy);
    const left = Math.max(degrees, around[k]! - 2 * product + energy);
    const leftOfSmall = Math.max(degrees, around[k]! - size * (2 * product - size * energy)) * dearer;
    out[k]! += half * Math.log(around[k]! / (size < 1 ? Math.min(left, leftOfSmall) : left));
  };
  let k = 0;
  for (; k + 3 < out.length; k += 4) {
    // Four places side by side: the next term of one need not wait for the others.
    let a = 0;
    let b = 0;
    let c = 0;
    let d = 0;
    for (let i = 0, j = k; i < shape.length; i++, j++) {
      const s = shape[i]!;
      a += s * u[j]!;
      b += s * u[j + 1]!;
      c += s * u[j + 2]!;
      d += s * u[j + 3]!;
    }
    add(k, a);
    add(k + 1, b);
    add(k + 2, c);
    add(k + 3, d);
  }
  for (; k < out.length; k++) {
    let product = 0;
    for (let i = 0; i < shape.length; i++) product += u[k + i]! * shape[i]!;
    add(k, product);
  }
}

/**
 * Lower triangular matrix that takes the leads' whitened noises to unrelated ones of unit variance: the inverse of the
 * Cholesky factor of their correlation. Leads without a signal stay out.
 */
function decorrelation(
  residual: readonly Float32Array[],
  models: readonly NoiseModel[],
  lo: number,
  hi: number,
): Float64Array[] {
  const n = residual.length;
  const white = residual.map((x, lead) => {
    const out = new Float32Array(hi - lo);
    whiten(x, lo, hi - lo, models[lead]!, out);
    return out;
  });
  const inverse = Array.from({ length: n }, (_, i) => Float64Array.from({ length: n }, (_, j) => (i === j ? 1 : 0)));
  // Gram-Schmidt: from each lead what the ones before it predict is taken.
  for (let i = 0; i < n; i++) {
    for (let j = 0; j < i; j++) {
      let product = 0;
      let power = 0;
      for (let k = 0; k < hi - lo; k++) {
        product += white[i]![k]! * white[j]![k]!;
        power += white[j]![k]! * white[j]![k]!;
      }
      if (!(power > 0)) continue;
      const share = product / power;
      for (let k = 0; k < hi - lo; k++) white[i]![k]! -= share * white[j]![k]!;
      for (let c = 0; c <= j; c++) inverse[i]![c]! -= share * inverse[j]![c]!;
    }
    let power = 0;
    for (const v of white[i]!) power += v * v;
    const scale = power > 0 ? 1 / Math.sqrt(power / (hi - lo)) : 0;
    for (let k = 0; k < hi - lo; k++) white[i]![k]! *= scale;
    for (let c = 0; c < n; c++) inverse[i]![c]! *= scale;
  }
  return inverse;
}

function mixed(matrix: readonly Float64Array[], leads: readonly Float32Array[]): Float32Array[] {
  return matrix.map((row, i) => {
    const out = new Float32Array(leads[i]!.length);
    for (let j = 0; j <= i; j++) {
      const share = row[j]!;
      if (share === 0) continue;
      const lead = leads[j]!;
      for (let k = 0; k < out.length; k++) out[k]! += share * lead[k]!;
    }
    return out;
  });
}
