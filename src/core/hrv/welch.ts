import { fftOf } from './fourier';

/** One-sided power spectral density. */
export interface PowerSpectrum {
  readonly frequenciesHz: Float64Array;
  /** In the square of the series' unit per Hz. */
  readonly density: Float64Array;
}

/**
 * Welch's method (IEEE Trans Audio Electroacoust 1967;15:70) with SciPy's conventions: periodic Hann window, half
 * overlap, each piece less its own mean, density scaling, plain average. Pieces hold `pieceLength` values, or all when
 * there are fewer, and are padded with zeros to the power of two of a full piece, so that all spectra have its frequencies.
 */
export function welch(values: Float64Array, rateHz: number, pieceLength = 512): PowerSpectrum {
  const length = Math.min(pieceLength, values.length);
  if (length < 2) throw new RangeError('a spectrum needs two values');
  const size = 2 ** Math.ceil(Math.log2(pieceLength));
  const window = Float64Array.from({ length }, (_, i) => 0.5 - 0.5 * Math.cos((2 * Math.PI * i) / length));
  const step = length - (length >> 1);
  const density = new Float64Array(size / 2 + 1);
  const fft = fftOf(size);
  const piece = new Float64Array(size);
  const out = fft.createComplexArray() as number[];
  let pieces = 0;
  for (let start = 0; start + length <= values.length; start += step, pieces++) {
    windowed(values.subarray(start, start + length), window, piece);
    fft.realTransform(out, piece);
    for (let k = 0; k <= size / 2; k++) density[k]! += out[2 * k]! ** 2 + out[2 * k + 1]! ** 2;
  }
  const energy = window.reduce((sum, w) => sum + w * w, 0);
  for (let k = 0; k <= size / 2; k++) {
    density[k]! *= (k === 0 || k === size / 2 ? 1 : 2) / (rateHz * energy * pieces);
  }
  return { frequenciesHz: density.map((_, k) => (k * rateHz) / size), density };
}

function windowed(values: Float64Array, window: Float64Array, into: Float64Array): void {
  let sum = 0;
  for (const v of values) sum += v;
  const mean = sum / values.length;
  into.fill(0);
  for (let i = 0; i < values.length; i++) into[i] = (values[i]! - mean) * window[i]!;
}
