import type { SampleArray, SampleFormat } from '../core/recording/recording';
import { FormatError } from './format-error';

/** Sample numbers have 32 bits wherever marks are kept. */
const mostSamples = 2 ** 31 - 1;
/** No recorder runs longer; what seems to is a clock that was set or a date that was misread. */
const longestSeconds = 366 * 86_400;

/** Longest time line that a file may ask for, in seconds: a year, or as many samples as 32 bits count. */
export function longestTimeline(samplingRateHz: number): number {
  return Math.min(longestSeconds, mostSamples / samplingRateHz);
}

/** A FormatError when a time line that ends after `seconds` is too long for the fastest lead's rate; 0 Hz without leads. */
export function checkTimeline(
  file: string,
  format: string,
  place: string,
  seconds: number,
  samplingRateHz: number,
): void {
  const longest = longestTimeline(samplingRateHz);
  if (seconds <= longest) return;
  const days = (s: number) => (s / 86_400).toFixed(1);
  const problem = `the time line would be ${days(seconds)} days long.`;
  const atRate = longest < longestSeconds ? ` at ${samplingRateHz} Hz` : '';
  const remedy = `At most ${days(longest)} days are read${atRate}: correct the time stamps or split the file.`;
  throw new FormatError(file, format, place, problem, remedy);
}

export function makeSamples(format: SampleFormat, length: number): SampleArray {
  if (format === 'int16') return new Int16Array(length);
  return format === 'int32' ? new Int32Array(length) : new Float32Array(length);
}
