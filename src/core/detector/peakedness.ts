import type { SampleArray } from '../recording/recording';

/** Arm of the peak measure: about half a QRS, so that narrow waves stand out and T and P waves do not. */
const armMs = 40;

/**
 * How far a sample stands above (or, negative, below) the mean of the signal one arm before and after, in words.
 * Common practice.
 */
export function peakedness(words: SampleArray, i: number, arm: number): number {
  return words[i]! - (words[Math.max(0, i - arm)]! + words[Math.min(words.length - 1, i + arm)]!) / 2;
}

export function armSamples(samplingRateHz: number): number {
  return Math.max(1, Math.round((armMs * samplingRateHz) / 1000));
}

/** The most peaked sample within `reach` of a place, by either sign. */
export function mostPeaked(words: SampleArray, at: number, reach: number, arm: number): number {
  let best = 0;
  for (let i = Math.max(arm, at - reach); i <= Math.min(words.length - 1 - arm, at + reach); i++) {
    best = Math.max(best, Math.abs(peakedness(words, i, arm)));
  }
  return best;
}
