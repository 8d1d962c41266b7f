/**
 * The only branded unit. Everywhere inside the core a position is a whole sample index of one recording's clock; seconds
 * exist for reading by people and for files. Spans are half-open `[start, end)`.
 */
declare const sampleIndexBrand: unique symbol;

/** 0-based whole sample index at the recording's sampling rate. */
export type SampleIndex = number & { readonly [sampleIndexBrand]: true };

/** A half-open stretch `[start, end)` of sample indices. */
export interface Span {
  readonly start: SampleIndex;
  readonly end: SampleIndex;
}

/** Brands a whole non-negative number. A fraction or a negative here is a bug, so it throws a RangeError. */
export function sampleIndex(value: number): SampleIndex {
  if (!Number.isSafeInteger(value) || value < 0) throw new RangeError(`not a sample index: ${value}`);
  return value as SampleIndex;
}

export function span(start: number, end: number): Span {
  if (end < start) throw new RangeError(`span ends before it starts: [${start}, ${end})`);
  return { start: sampleIndex(start), end: sampleIndex(end) };
}

/** Nearest sample; halves round up. Times before the first sample give 0. */
export function toSample(time: number, samplingRateHz: number): SampleIndex {
  return sampleIndex(Math.max(0, Math.floor(time * samplingRateHz + 0.5)));
}

/** Length of a number of samples in milliseconds. */
export function toMs(samples: number, samplingRateHz: number): number {
  return (samples * 1000) / samplingRateHz;
}

/** CSS defines a millimetre as 96/25.4 px (CSS Values and Units Level 3, section 6.2). */
export const cssPxPerMm = 96 / 25.4;
