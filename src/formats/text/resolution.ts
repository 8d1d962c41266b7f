/** Steps that times are commonly rounded to, in ms, the coarsest first. */
const steps = [60_000, 1000, 500, 100, 50, 20, 10];

/** Tolerance that a mark is held against by default, in ms. */
const toleranceMs = 50;

/**
 * What to say of times that are all whole multiples of 10 ms or more, although the recording's samples lie closer; null
 * when they are finer, or fewer than ten.
 */
export function roundingDoubt(seconds: readonly number[], samplingRateHz: number): string | null {
  if (seconds.length < 10) return null;
  const step = steps.find(ms => seconds.every(s => Math.abs((s * 1000) / ms - Math.round((s * 1000) / ms)) < 1e-4));
  if (step === undefined || step <= 2000 / samplingRateHz) return null;
  const off = step / 2;
  const size = step >= 1000 ? `${step / 1000} s` : `${step} ms`;
  const effect =
    off >= toleranceMs
      ? `more than the ${toleranceMs} ms within which a mark is on its peak: their quality cannot be judged`
      : `which uses up ${Math.round((100 * off) / toleranceMs)} % of the ${toleranceMs} ms within which a mark is on its peak`;
  return `The marks are rounded to ${size}: each may lie up to ${off} ms from where the recorder put it, ${effect}.`;
}
