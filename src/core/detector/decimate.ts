import type { SampleArray } from '../recording/recording';

/** The rate the detector works at, near this: QRS energy ends well below 60 Hz (Thakor et al., IEEE TBME 1984;31:702). */
const targetHz = 250;

/** How many samples the box-car joins into one: 1 up to 374 Hz, 2 at 500, 4 at 1000, 8 at 2000 Hz. */
export function decimationFactor(samplingRateHz: number): number {
  return Math.max(1, Math.floor(samplingRateHz / targetHz + 0.5));
}

/**
 * Box-car decimation: `out[i]` is the mean of `factor` words from `words[i * factor]`, for `count` outputs from `at`.
 * The int16 loop is apart from the others so that it stays compiled for one array type.
 */
export function decimate(words: SampleArray, factor: number, out: Float32Array, at: number, count: number): void {
  if (words instanceof Int16Array && factor === 4) decimateByFour(words, out, at, count);
  else if (words instanceof Int16Array) decimateInt16(words, factor, out, at, count);
  else decimateOther(words, factor, out, at, count);
}

function decimateInt16(words: Int16Array, factor: number, out: Float32Array, at: number, count: number): void {
  const scale = 1 / factor;
  let k = at * factor;
  for (let i = at; i < at + count; i++) {
    let sum = 0;
    for (let j = 0; j < factor; j++) sum += words[k++]!;
    out[i] = sum * scale;
  }
}

/** 1000 Hz, the rate of most loggers, without an inner loop. */
function decimateByFour(words: Int16Array, out: Float32Array, at: number, count: number): void {
  for (let i = at, k = 4 * at; i < at + count; i++, k += 4)
    out[i] = (words[k]! + words[k + 1]! + words[k + 2]! + words[k + 3]!) * 0.25;
}

function decimateOther(
  words: Int32Array | Float32Array,
  factor: number,
  out: Float32Array,
  at: number,
  count: number,
): void {
  let k = at * factor;
  for (let i = at; i < at + count; i++) {
    let sum = 0;
    for (let j = 0; j < factor; j++) sum += words[k++]!;
    out[i] = sum / factor;
  }
}
