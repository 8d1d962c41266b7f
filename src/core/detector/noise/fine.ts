/**
 * The signal as shapes are compared in: its first difference over about 8 ms, one value each 8 ms. Electrode motion is
 * strongest at low frequencies; the difference leaves of it little more than white noise, and keeps of the beats what a
 * band-pass for QRS complexes would lose: their sharp edges, and some of the T wave.
 */
const stepS = 0.008;

/** Fine steps whose power is summed to see how far beats stand out. */
export const powerSteps = 15;

export function fineStep(workingHz: number): number {
  return Math.max(1, Math.round(stepS * workingHz));
}

/**
 * `out[k]` is the mean of the `step` samples from `k * step` less the mean of those before; the first is 0. `power` takes
 * the sum of squares of each block of `powerSteps`. Returns how many steps there are.
 */
export function fillFine(x: Float32Array, n: number, step: number, out: Float32Array, power: Float32Array): number {
  const count = Math.floor(n / step);
  const blocks = Math.floor(count / powerSteps);
  let before = count > 0 ? mean(x, 0, step) : 0;
  for (let b = 0, k = 0; b <= blocks; b++) {
    const end = b < blocks ? k + powerSteps : count;
    let sum = 0;
    for (; k < end; k++) {
      const here = step === 2 ? 0.5 * (x[2 * k]! + x[2 * k + 1]!) : mean(x, k * step, step);
      const v = here - before;
      out[k] = v;
      sum += v * v;
      before = here;
    }
    if (b < blocks) power[b] = sum;
  }
  return count;
}

function mean(x: Float32Array, from: number, step: number): number {
  let sum = 0;
  for (let i = from; i < from + step; i++) sum += x[i]!;
  return sum / step;
}
