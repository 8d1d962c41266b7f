import { fftOf, transformReal } from './fourier';

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
  const { window, energy } = hann(length);
  const step = length - (length >> 1);
  const density = new Float64Array(size / 2 + 1);
  const fft = fftOf(size);
  const piece = new Float64Array(size);
  const out = new Float64Array(2 * size);
  let pieces = 0;
  for (let start = 0; start + length <= values.length; start += step, pieces++) {
    windowed(values.subarray(start, start + length), window, piece);
    transformReal(fft, out, piece);
    for (let k = 0; k <= size / 2; k++) density[k]! += out[2 * k]! * out[2 * k]! + out[2 * k + 1]! * out[2 * k + 1]!;
  }
  const frequenciesHz = new Float64Array(density.length);
  for (let k = 0; k <= size / 2; k++) {
    density[k]! *= (k === 0 || k === size / 2 ? 1 : 2) / (rateHz * energy * pieces);
    frequenciesHz[k] = (k * rateHz) / size;
  }
  return { frequenciesHz, density };
}

let lastWindow = { window: new Float64Array(0), energy: 0 };

/** The window and the sum of its squares; kept, as nearly all pieces are full ones. */
function hann(length: number): typeof lastWindow {
  if (lastWindow.window.length === length) return lastWindow;
  const window = new Float64Array(length);
  let energy = 0;
  for (let i = 0; i < length; i++) {
    window[i] = 0.5 - 0.5 * Math.cos((2 * Math.PI * i) / length);
    energy += window[i]! * window[i]!;
  }
  lastWindow = { window, energy };
  return lastWindow;
}

function windowed(values: Float64Array, window: Float64Array, into: Float64Array): void {
  let sum = 0;
  for (let i = 0; i < values.length; i++) sum += values[i]!;
  const mean = sum / values.length;
  into.fill(0);
  for (let i = 0; i < values.length; i++) into[i] = (values[i]! - mean) * window[i]!;
}
