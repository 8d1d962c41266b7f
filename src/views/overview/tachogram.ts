import type { Marks } from '../../core/marks/markset';
import { firstEndingAfter } from '../../core/marks/spans';
import type { Span } from '../../core/units';
import { type RateRange, rateBpm } from '../strip-chart/intervals';

/** Lowest and highest heart rate a pixel column, bpm; NaN where no interval ends. */
export interface TachogramCurve {
  readonly min: Float32Array;
  readonly max: Float32Array;
}

/**
 * Heart rate of a mark series by column of the whole recording. Each interval counts where it ends; intervals across
 * an unreadable stretch or a gap are left out. Outliers stay: each column keeps its extremes.
 */
export function tachogramCurve(
  marks: Marks,
  excluded: readonly Span[],
  samplingRateHz: number,
  sampleCount: number,
  columnCount: number,
): TachogramCurve {
  const min = new Float32Array(columnCount).fill(Number.NaN);
  const max = new Float32Array(columnCount).fill(Number.NaN);
  for (let k = 1; k < marks.length; k++) {
    const from = marks[k - 1]!;
    const to = marks[k]!;
    const s = excluded[firstEndingAfter(excluded, from)];
    if (s !== undefined && s.start <= to) continue;
    const bpm = rateBpm(((to - from) * 1000) / samplingRateHz);
    const c = Math.min(columnCount - 1, Math.floor((to / sampleCount) * columnCount));
    if (!(min[c]! <= bpm)) min[c] = bpm;
    if (!(max[c]! >= bpm)) max[c] = bpm;
  }
  return { min, max };
}

/** From half the usual rate, where one missed beat lands, to well above it. */
export function outlierRange(usual: RateRange): RateRange {
  return { low: Math.max(0, Math.floor(usual.low / 20) * 10), high: Math.ceil((usual.high * 1.2) / 10) * 10 };
}
