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
  if (step === 2) return fillByTwo(x, n, out, power);
  const count = Math.floor(n / step);
  const blocks = Math.floor(count / powerSteps);
  let before = count > 0 ? mean(x, 0, step) : 0;
  for (let b = 0, k = 0; b <= blocks; b++) {
    const end = b < blocks ? k + powerSteps : count;
    let sum = 0;
    for (; k < end; k++) {
      const here = mean(x, k * step, step);
      const v = here - before;
      out[k] = v;
      sum += v * v;
      before = here;
    }
    if (b < blocks) power[b] = sum;
  }
  return count;
}

/** 250 Hz, what most recordings come down to, without an inner loop. */
function fillByTwo(x: Float32Array, n: number, out: Float32Array, power: Float32Array): number {
  const count = n >> 1;
  let before = count > 0 ? x[0]! + x[1]! : 0;
  let i = 0;
  let k = 0;
  for (let end = powerSteps, b = 0; k < count; end += powerSteps, b++) {
    const last = Math.min(end, count);
    let sum = 0;
    for (; k < last; k++, i += 2) {
      const here = x[i]! + x[i + 1]!;
      const v = 0.5 * (here - before);
      out[k] = v;
      sum += v * v;
      before = here;
    }
    if (last === end) power[b] = sum;
  }
  return count;
}

function mean(x: Float32Array, from: number, step: number): number {
  let sum = 0;
  for (let i = from; i < from + step; i++) sum += x[i]!;
  return sum / step;
}
