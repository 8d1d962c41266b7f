import FFT from 'fft.js';

const known = new Map<number, FFT>();

/** The transform of a size (a power of two); its tables are made once. */
export function fftOf(size: number): FFT {
  const fft = known.get(size) ?? new FFT(size);
  known.set(size, fft);
  return fft;
}

/**
 * Fourier transform of real values into `out`, real and imaginary parts in turn. The library's own types name plain lists,
 * but it only reads and writes places, and typed arrays need not change their kind with the first fraction.
 */
export function transformReal(fft: FFT, out: Float64Array, values: Float64Array): void {
  fft.realTransform(out as unknown as number[], values);
}

/** Grid points on each side that a value is spread to: 14 keep all but the last two or three of a double's digits. */
const reach = 14;

/**
 * Fourier sums of values at uneven places: `sum of (a + i b) exp(-i k angle)` for k from -most to most, by Gaussian
 * gridding onto an even grid and one FFT (Greengard & Lee, SIAM Rev 2004;46:443, type 1; constants after their section
 * 3). Far fewer steps than a sum for each k where there are hundreds of both.
 */
export class UnevenFourier {
  private readonly most: number;
  private readonly size: number;
  private readonly spread: number;
  /** Of each distance in grid points: the Gaussian at whole distances. */
  private readonly whole: Float64Array;
  private readonly grid: Float64Array;
  private readonly out: Float64Array;
  /** Of each k from 0 on: what the transform is multiplied by. */
  private readonly sharpen: Float64Array;

  constructor(most: number) {
    const modes = 2 * most + 1;
    this.most = most;
    this.size = 2 ** Math.ceil(Math.log2(Math.max(2 * modes, 2 * reach + 2)));
    const over = this.size / modes;
    this.spread = (Math.PI * reach) / (modes * modes * over * (over - 0.5));
    const step = Math.PI / this.size;
    this.whole = Float64Array.from({ length: reach + 1 }, (_, l) => Math.exp(-((step * l) ** 2) / this.spread));
    this.grid = new Float64Array(2 * this.size);
    this.out = new Float64Array(2 * this.size);
    const scale = Math.sqrt(Math.PI / this.spread) / this.size;
    this.sharpen = Float64Array.from({ length: most + 1 }, (_, k) => scale * Math.exp(k * k * this.spread));
  }

  /** Angles in radians, each in [0, 2 pi). Real and imaginary part of the sum for k lie at `2 * place(k)` of the answer. */
  sums(angles: Float64Array, a: Float64Array, b: Float64Array): Float64Array {
    this.grid.fill(0);
    for (let j = 0; j < angles.length; j++) this.lay(angles[j]!, a[j]!, b[j]!);
    const { out, sharpen, size } = this;
    fftOf(size).transform(out as unknown as number[], this.grid);
    for (let k = 0; k <= this.most; k++) {
      out[2 * k]! *= sharpen[k]!;
      out[2 * k + 1]! *= sharpen[k]!;
      if (k === 0) continue;
      out[2 * (size - k)]! *= sharpen[k]!;
      out[2 * (size - k) + 1]! *= sharpen[k]!;
    }
    return out;
  }

  place(k: number): number {
    return k < 0 ? k + this.size : k;
  }

  /** Spreads one value over its neighbours on the grid: exp(-(d - l step)^2 / 4 spread), split so that two exp are enough. */
  private lay(angle: number, a: number, b: number): void {
    const size = this.size;
    const grid = this.grid;
    const near = Math.floor((angle * size) / (2 * Math.PI));
    const apart = angle - (2 * Math.PI * near) / size;
    const here = Math.exp(-(apart * apart) / (4 * this.spread));
    const turn = Math.exp((apart * Math.PI) / (size * this.spread));
    const back = 1 / turn;
    let up = here;
    let down = here;
    for (let l = 0; l <= reach; l++) {
      const after = 2 * ((near + l) & (size - 1));
      const weight = up * this.whole[l]!;
      grid[after]! += a * weight;
      grid[after + 1]! += b * weight;
      up *= turn;
      down *= back;
      if (l === reach) break;
      const before = 2 * ((near - l - 1) & (size - 1));
      const mirrored = down * this.whole[l + 1]!;
      grid[before]! += a * mirrored;
      grid[before + 1]! += b * mirrored;
    }
  }
}

const knownSums = new Map<number, UnevenFourier>();
const mostKnown = 32;

/** The sums of a size, with their tables and room: pieces of one length need the same again and again. */
export function unevenFourier(most: number): UnevenFourier {
  const known = knownSums.get(most);
  if (known) return known;
  const made = new UnevenFourier(most);
  if (knownSums.size < mostKnown) knownSums.set(most, made);
  return made;
}
