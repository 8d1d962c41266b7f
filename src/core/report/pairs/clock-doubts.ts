import { mean, sumOfSquares } from '../../moments';

/** What there is to doubt of a clock that was found. */

/** Half the tolerance within which two recorders' beats are the same: ms. */
export const usualEndErrorMs = 25;

/** Beyond this a recorder's clock is unusual: ppm. */
export const usualDriftPpm = 200;

export interface DriftError {
  /** Half the 95 % interval of a drift, in ppm, residuals taken as independent. */
  readonly driftErrorPpm: number | null;
  /** What that adds up to at the end of the recording that is farthest from the middle of the beats, in ms. */
  readonly endErrorMs: number | null;
}

export const noError: DriftError = { driftErrorPpm: null, endErrorMs: null };

/**
 * Of the slope of a line through beats at `seconds`: 1.96 SD / (sqrt(n) SD of the times) (least squares, common practice).
 * `end` is the recording's length in s.
 */
export function driftError(seconds: Float64Array, residualSdMs: number, end: number): DriftError {
  const n = seconds.length;
  const middle = mean(seconds);
  const spread = Math.sqrt(sumOfSquares(seconds) / n);
  if (!(spread > 0)) return noError;
  const msPerSecond = (1.96 * residualSdMs) / (Math.sqrt(n) * spread);
  return { driftErrorPpm: 1000 * msPerSecond, endErrorMs: msPerSecond * Math.max(middle, end - middle) };
}

/** Of one clock, in sentences; none where there is nothing to doubt. */
export function clockDoubts(driftPpm: number, endErrorMs: number | null): string[] {
  const doubts: string[] = [];
  if (Math.abs(driftPpm) > usualDriftPpm)
    doubts.push(`A drift beyond ±${usualDriftPpm} ppm is unusual: check the sampling rates of both recordings.`);
  if (endErrorMs !== null && endErrorMs > usualEndErrorMs)
    doubts.push(
      `Too few beats of both, or in too short a time, for this drift: up to ${Math.round(endErrorMs)} ms off at an end.`,
    );
  return doubts;
}
