import { sortedQuantile } from '../moments';
import type { Candidates } from './candidates';
import { insertionSort, medianAround, selected } from './selection';

/**
 * Running statistics of the candidates on a coarse grid of time (one value each `gridS` seconds): what beats and what
 * other waves are like around a place. Both past and future count, as the window is looked at as a whole.
 */
const gridS = 3;
const reachS = 8;
/** Intervals on either side that make the local RR interval. */
const rrNeighbours = 9;
/** A quantile of fewer values is none. */
const fewest = 5;

export interface LocalRhythm {
  /** Median RR interval in working samples per grid cell, 0 when unknown. */
  readonly rr: Float32Array;
  /** Quartile deviation of the RR intervals over their median. */
  readonly spread: Float32Array;
}

/** What is asked of the candidates that are no beats. */
export interface OthersAsked {
  /** The beats' energy per cell. */
  readonly level: Float32Array;
  readonly share: number;
  readonly least: number;
  readonly leastLoud: number;
}

export class LocalStatistics {
  readonly cell: number;
  private readonly reach: number;
  private readonly scratch = new Float32Array(4096);
  private at = new Int32Array(0);
  private energy = new Float32Array(0);

  constructor(workingHz: number) {
    this.cell = Math.round(gridS * workingHz);
    this.reach = Math.round(reachS * workingHz);
  }

  /** Upper median per cell, within 8 s, of the energies of the chosen candidates; cells without any keep what `out` has. */
  usualOfBeats(c: Candidates, chosen: Uint8Array, out: Float32Array): void {
    this.forEachCell(c, chosen, 1, out.length, (g, energies, n) => {
      out[g] = selected(energies, n, n >> 1);
    });
  }

  /** The quantile `share`, within 8 s, of the energies of those whose `chosen` is `which`; cells with less than five keep what `out` has. */
  quantileOf(c: Candidates, chosen: Uint8Array, which: number, share: number, out: Float32Array): void {
    this.forEachCell(c, chosen, which, out.length, (g, energies, n) => {
      if (n >= fewest) out[g] = selected(energies, n, Math.floor(n * share));
    });
  }

  /**
   * The upper median of the other candidates into `usual`, and the quantile `share` of them into `loudest`. Where the one is no more
   * than `least` of the beats' level, and the other no more than `leastLoud` of it, both are taken for 0.
   */
  ofOthers(
    c: Candidates,
    chosen: Uint8Array,
    { level, least, share, leastLoud }: OthersAsked,
    usual: Float32Array,
    loudest: Float32Array,
  ): void {
    this.forEachCell(c, chosen, 0, usual.length, (g, energies, n) => {
      const middle = n >> 1;
      const high = Math.floor(n * share);
      usual[g] = 0;
      loudest[g] = 0;
      // To count them is faster than to select among them.
      if (countUpTo(energies, n, least * level[g]!) > middle && countUpTo(energies, n, leastLoud * level[g]!) > high)
        return;
      usual[g] = selected(energies, n, middle);
      loudest[g] = selected(energies, n, high, middle);
    });
  }

  /** Calls `take` for each cell that has any, with the energies of those whose `chosen` equals `which`; it may reorder them. */
  private forEachCell(
    c: Candidates,
    chosen: Uint8Array,
    which: number,
    cells: number,
    take: (g: number, energies: Float32Array, n: number) => void,
  ): void {
    const { at, energy, count } = this.pick(c, chosen, which);
    let lo = 0;
    let hi = 0;
    for (let g = 0; g < cells; g++) {
      const centre = (g + 0.5) * this.cell;
      while (lo < count && at[lo]! < centre - this.reach) lo++;
      while (hi < count && at[hi]! <= centre + this.reach) hi++;
      const n = Math.min(hi - lo, this.scratch.length);
      for (let i = 0; i < n; i++) this.scratch[i] = energy[lo + i]!;
      if (n > 0) take(g, this.scratch, n);
    }
  }

  /** The candidates whose `chosen` equals `which`; valid until the next call. */
  private pick(c: Candidates, chosen: Uint8Array, which: number): Candidates {
    if (this.at.length < c.count) {
      this.at = new Int32Array(c.at.length);
      this.energy = new Float32Array(c.at.length);
    }
    let count = 0;
    for (let i = 0; i < c.count; i++) {
      if (chosen[i] !== which) continue;
      this.at[count] = c.at[i]!;
      this.energy[count++] = c.energy[i]!;
    }
    return { at: this.at, energy: this.energy, count };
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
      const quantile = (p: number) => sortedQuantile(this.scratch, p, n);
      const rr = n >= 4 ? quantile(0.5) : 0;
      out.rr[g] = rr;
      out.spread[g] = rr > 0 ? (quantile(0.75) - quantile(0.25)) / (2 * rr) : 1;
    }
  }
}

function countUpTo(values: Float32Array, n: number, most: number): number {
  let count = 0;
  for (let i = 0; i < n; i++) if (values[i]! <= most) count++;
  return count;
}

/** Seconds of each stretch of `topsOf`: most hold a beat. */
const topS = 1.5;

export function topSamples(workingHz: number): number {
  return Math.round(topS * workingHz);
}

/** The highest envelope in each 1.5 s. */
export function topsOf(energy: Float32Array, n: number, workingHz: number): Float32Array {
  const stretch = topSamples(workingHz);
  const tops = new Float32Array(Math.max(1, Math.ceil(n / stretch)));
  for (let s = 0; s < tops.length; s++) {
    let top = 0;
    const end = Math.min(n, (s + 1) * stretch);
    // The envelope is smooth: every other sample is enough.
    for (let i = s * stretch; i < end; i += 2) if (energy[i]! > top) top = energy[i]!;
    tops[s] = top;
  }
  return tops;
}

/** First guess of the beats' energy per grid cell: the median over 17 s of `tops`. */
export function firstLevel(tops: Float32Array, workingHz: number, cell: number, out: Float32Array): void {
  const stretch = topSamples(workingHz);
  for (let g = 0; g < out.length; g++) {
    const s = Math.min(tops.length - 1, Math.floor(((g + 0.5) * cell) / stretch));
    out[g] = medianAround(tops, s, 5);
  }
}
