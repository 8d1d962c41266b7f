import { sortedQuantile } from '../moments';
import type { Candidates } from './candidates';

/**
 * Running statistics of the candidates on a coarse grid of time (one value each `gridS` seconds): what beats and what
 * other waves are like around a place. Both past and future count, as the window is looked at as a whole.
 */
const gridS = 3;
const reachS = 8;
/** Intervals on either side that make the local RR interval. */
const rrNeighbours = 6;

export interface LocalRhythm {
  /** Median RR interval in working samples per grid cell, 0 when unknown. */
  readonly rr: Float32Array;
  /** Quartile deviation of the RR intervals over their median. */
  readonly spread: Float32Array;
}

export class LocalStatistics {
  readonly cell: number;
  private readonly reach: number;
  private readonly scratch = new Float32Array(4096);

  constructor(workingHz: number) {
    this.cell = Math.round(gridS * workingHz);
    this.reach = Math.round(reachS * workingHz);
  }

  /**
   * Quantile `share` (the upper median at 0.5) per cell, within 8 s, of the energies of candidates whose `chosen` equals
   * `which`; cells without any keep the value that `out` holds.
   */
  quantile(c: Candidates, chosen: Uint8Array, which: number, share: number, out: Float32Array): void {
    let lo = 0;
    let hi = 0;
    for (let g = 0; g < out.length; g++) {
      const centre = (g + 0.5) * this.cell;
      while (lo < c.count && c.at[lo]! < centre - this.reach) lo++;
      while (hi < c.count && c.at[hi]! <= centre + this.reach) hi++;
      let n = 0;
      for (let i = lo; i < hi && n < this.scratch.length; i++)
        if (chosen[i] === which) this.scratch[n++] = c.energy[i]!;
      if (n > 0) out[g] = selected(this.scratch, n, Math.floor(n * share));
    }
  }

  /** Local RR interval and its spread from the chosen candidates. */
  rhythm(c: Candidates, chosen: Uint8Array, out: LocalRhythm): void {
    const beats = new Int32Array(c.count);
    let count = 0;
    for (let i = 0; i < c.count; i++) if (chosen[i]) beats[count++] = c.at[i]!;
    let b = 0;
    for (let g = 0; g < out.rr.length; g++) {
      while (b < count && beats[b]! < (g + 0.5) * this.cell) b++;
      let n = 0;
      for (let k = Math.max(1, b - rrNeighbours); k < Math.min(count, b + rrNeighbours + 1); k++)
        this.scratch[n++] = beats[k]! - beats[k - 1]!;
      insertionSort(this.scratch, n);
      const sorted = this.scratch.subarray(0, n);
      const rr = n >= 4 ? sortedQuantile(sorted, 0.5) : 0;
      out.rr[g] = rr;
      out.spread[g] = rr > 0 ? (sortedQuantile(sorted, 0.75) - sortedQuantile(sorted, 0.25)) / (2 * rr) : 1;
    }
  }
}

/** The value that sorting would put at k, by Hoare's selection; reorders `values[0..n)`. */
export function selected(values: Float32Array, n: number, k: number): number {
  let lo = 0;
  let hi = n - 1;
  while (lo < hi) {
    const pivot = values[k]!;
    let i = lo;
    let j = hi;
    while (i <= j) {
      while (values[i]! < pivot) i++;
      while (values[j]! > pivot) j--;
      if (i > j) break;
      const swap = values[i]!;
      values[i++] = values[j]!;
      values[j--] = swap;
    }
    if (j < k) lo = i;
    if (k < i) hi = j;
  }
  return values[k]!;
}

function insertionSort(values: Float32Array, n: number): void {
  for (let i = 1; i < n; i++) {
    const v = values[i]!;
    let p = i;
    for (; p > 0 && values[p - 1]! > v; p--) values[p] = values[p - 1]!;
    values[p] = v;
  }
}

const near = new Float32Array(64);

/** Median of `values[k - reach .. k + reach]`, clipped to the array; `reach` up to 31. */
export function medianAround(values: Float32Array, k: number, reach: number): number {
  const from = Math.max(0, k - reach);
  const n = Math.min(values.length, k + reach + 1) - from;
  for (let i = 0; i < n; i++) near[i] = values[from + i]!;
  insertionSort(near, n);
  const low = (n - 1) >> 1;
  return n % 2 === 1 ? near[low]! : near[low]! + 0.5 * (near[low + 1]! - near[low]!);
}

/** First guess of the beats' energy per grid cell: the median over 17 s of the highest envelope in each 1.5 s. */
export function firstLevel(energy: Float32Array, n: number, workingHz: number, cell: number, out: Float32Array): void {
  const stretch = Math.round(1.5 * workingHz);
  const tops = new Float32Array(Math.max(1, Math.ceil(n / stretch)));
  for (let s = 0; s < tops.length; s++) {
    let top = 0;
    const end = Math.min(n, (s + 1) * stretch);
    // The envelope is smooth: every other sample is enough.
    for (let i = s * stretch; i < end; i += 2) if (energy[i]! > top) top = energy[i]!;
    tops[s] = top;
  }
  for (let g = 0; g < out.length; g++) {
    const s = Math.min(tops.length - 1, Math.floor(((g + 0.5) * cell) / stretch));
    out[g] = medianAround(tops, s, 5);
  }
}
