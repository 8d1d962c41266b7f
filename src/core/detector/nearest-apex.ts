import type { SampleArray } from '../recording/recording';

/** How far from the caret an apex is looked for: within one beat at any rate a heart can have. */
const reachMs = 150;
/** Arm of the peak measure: about half a QRS, so that narrow waves stand out and T and P waves do not. */
const armMs = 40;

export type Polarity = 1 | -1;

/**
 * The R apex nearest to `at`, of either polarity, or of the given one.
 *
 * A wave's peakedness is its height over the mean of the signal one arm before and after; the apex is the extremum of
 * the most peaked wave in reach, nearer ones winning over slightly more peaked ones. Common practice.
 * @param words a stretch of the lead; `at` and the result are indices into it
 */
export function nearestApex(words: SampleArray, at: number, samplingRateHz: number, polarity?: Polarity): number {
  const arm = Math.max(1, Math.round((armMs * samplingRateHz) / 1000));
  const reach = Math.round((reachMs * samplingRateHz) / 1000);
  const lo = Math.max(arm, at - reach);
  const hi = Math.min(words.length - 1 - arm, at + reach);
  let best = at;
  let bestValue = Number.NEGATIVE_INFINITY;
  for (let i = lo; i <= hi; i++) {
    const signed = peakedness(words, i, arm);
    const height = polarity === undefined ? Math.abs(signed) : signed * polarity;
    const value = height * (1 - (0.3 * Math.abs(i - at)) / reach);
    if (value > bestValue) {
      bestValue = value;
      best = i;
    }
  }
  const sign = polarity ?? (peakedness(words, best, arm) < 0 ? -1 : 1);
  return climb(words, best, Math.max(1, arm >> 1), sign);
}

/** Polarity that most of the marks share; undefined when they disagree or there are none. */
export function polarityAt(words: SampleArray, marks: readonly number[], samplingRateHz: number): Polarity | undefined {
  const arm = Math.max(1, Math.round((armMs * samplingRateHz) / 1000));
  const inside = marks.filter(m => m >= arm && m < words.length - arm);
  if (inside.length < 3) return undefined;
  const up = inside.filter(m => peakedness(words, m, arm) > 0).length;
  if (up >= inside.length * 0.75) return 1;
  return up <= inside.length * 0.25 ? -1 : undefined;
}

function peakedness(words: SampleArray, i: number, arm: number): number {
  return words[i]! - (words[Math.max(0, i - arm)]! + words[Math.min(words.length - 1, i + arm)]!) / 2;
}

/** The extremum within a few samples: the peak measure may peak beside it on a sloping baseline. */
function climb(words: SampleArray, from: number, reach: number, sign: number): number {
  let best = from;
  for (let i = Math.max(0, from - reach); i <= Math.min(words.length - 1, from + reach); i++) {
    if (words[i]! * sign > words[best]! * sign) best = i;
  }
  return best;
}
