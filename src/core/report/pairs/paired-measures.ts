import { type ClockFit, toClockA } from '../../agreement/clock';
import type { NnSeries } from '../../hrv/nn';

/** Intervals two series have in common: both beats of each within a tolerance of each other. */
export interface PairedIntervals {
  /** End of the interval, in s on A's clock. */
  readonly timesSeconds: Float64Array;
  readonly aMs: Float64Array;
  readonly bMs: Float64Array;
  /** 1 where the pair before ends at the beat at which this one starts, on both sides. */
  readonly adjacent: Uint8Array;
}

/** Clocks that are one: for comparing detected with reviewed marks of the same recording. */
const sameClock: Pick<ClockFit, 'offsetSeconds' | 'driftPpm'> = { offsetSeconds: 0, driftPpm: 0 };

/** Pairs the intervals of two recorders (or two sets of marks) on one body. Each interval keeps its own clock's length. */
export function pairedIntervals(a: NnSeries, b: NnSeries, clock = sameClock, toleranceMs = 50): PairedIntervals {
  const size = Math.min(a.intervalsMs.length, b.intervalsMs.length);
  const timesSeconds = new Float64Array(size);
  const aMs = new Float64Array(size);
  const bMs = new Float64Array(size);
  const adjacent = new Uint8Array(size);
  const tolerance = toleranceMs / 1000;
  let n = 0;
  let lastA = -2;
  let lastB = -2;
  for (let i = 0, j = 0; i < a.intervalsMs.length && j < b.intervalsMs.length; ) {
    const end = a.timesSeconds[i]!;
    const endB = toClockA(clock, b.timesSeconds[j]!);
    const start = end - a.intervalsMs[i]! / 1000;
    const startB = toClockA(clock, b.timesSeconds[j]! - b.intervalsMs[j]! / 1000);
    if (Math.abs(end - endB) <= tolerance && Math.abs(start - startB) <= tolerance) {
      timesSeconds[n] = end;
      aMs[n] = a.intervalsMs[i]!;
      bMs[n] = b.intervalsMs[j]!;
      const follows = lastA === i - 1 && lastB === j - 1 && a.adjacent[i] === 1 && b.adjacent[j] === 1;
      adjacent[n++] = follows ? 1 : 0;
      lastA = i++;
      lastB = j++;
    } else if (end < endB) i++;
    else j++;
  }
  return {
    timesSeconds: timesSeconds.subarray(0, n),
    aMs: aMs.subarray(0, n),
    bMs: bMs.subarray(0, n),
    adjacent: adjacent.subarray(0, n),
  };
}

/** Values of one measure by two recorders, pair by pair. */
export interface Pairs {
  readonly a: Float64Array;
  readonly b: Float64Array;
}

/**
 * Heart rate in bpm of both sides in windows of `windowSeconds` from `startSeconds` (A's clock): 60000 / mean RR of the
 * paired intervals that end in the window; windows less than half covered are passed over.
 */
export function pairedHeartRate(pairs: PairedIntervals, startSeconds: number, windowSeconds = 10): Pairs {
  const sums = new Map<number, { n: number; a: number; b: number }>();
  for (let i = 0; i < pairs.aMs.length; i++) {
    const window = Math.floor((pairs.timesSeconds[i]! - startSeconds) / windowSeconds);
    const sum = sums.get(window) ?? { n: 0, a: 0, b: 0 };
    sum.n++;
    sum.a += pairs.aMs[i]!;
    sum.b += pairs.bMs[i]!;
    sums.set(window, sum);
  }
  const covered = [...sums.values()].filter(s => s.a >= 500 * windowSeconds);
  return {
    a: Float64Array.from(covered, s => (60000 * s.n) / s.a),
    b: Float64Array.from(covered, s => (60000 * s.n) / s.b),
  };
}

/** RMSSD in ms of both sides over the paired intervals of one segment; no pair under 30 differences (own choice). */
export function pairedRmssd({ aMs, bMs, adjacent }: PairedIntervals): Pairs {
  let n = 0;
  let a = 0;
  let b = 0;
  for (let i = 1; i < aMs.length; i++) {
    if (adjacent[i] !== 1) continue;
    n++;
    const [da, db] = [aMs[i]! - aMs[i - 1]!, bMs[i]! - bMs[i - 1]!];
    a += da * da;
    b += db * db;
  }
  if (n < 30) return { a: new Float64Array(0), b: new Float64Array(0) };
  return { a: Float64Array.of(Math.sqrt(a / n)), b: Float64Array.of(Math.sqrt(b / n)) };
}
