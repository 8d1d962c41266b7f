import { BeatOutcome, match } from '../../src/core/marks/match';

export interface BeatCounts {
  tp: number;
  fn: number;
  fp: number;
}

/** Beat by beat within 150 ms, whole record (ANSI/AAMI EC57). */
export function countBeats(beats: Int32Array, found: Int32Array, samplingRateHz: number): BeatCounts {
  const settings = { onPeakToleranceMs: 150, wrongPeakWindowMs: 150 };
  const { outcome } = match(beats, found, [], samplingRateHz, settings);
  let tp = 0;
  for (const o of outcome) if (o === BeatOutcome.onPeak) tp++;
  return { tp, fn: beats.length - tp, fp: found.length - tp };
}
