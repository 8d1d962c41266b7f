import type { NnSeries } from './nn';

/** Longest break that may be run through without data: 2 beats and 3 s. */
const mostBeats = 2;
const mostSeconds = 3;

/** Breaks of a series: places where an interval does not start at the beat that ended the one before. */
export interface Breaks {
  /** Short enough to be bridged, and their length in s. */
  readonly bridged: number;
  readonly bridgedSeconds: number;
  /** Longer ones; nothing is made up for them. */
  readonly wide: number;
  readonly wideSeconds: number;
}

/** Length of the break before interval `i`, in s; 0 where there is none. */
export function breakBefore({ timesSeconds, intervalsMs, adjacent }: NnSeries, i: number): number {
  if (i === 0 || adjacent[i] === 1) return 0;
  return Math.max(0, timesSeconds[i]! - timesSeconds[i - 1]! - intervalsMs[i]! / 1000);
}

/** Whether the break before interval `i` is longer than may be bridged, beats counted by the intervals on both sides. */
export function isWideBreak(series: NnSeries, i: number): boolean {
  const seconds = breakBefore(series, i);
  if (seconds === 0) return false;
  const local = (series.intervalsMs[i - 1]! + series.intervalsMs[i]!) / 2000;
  return seconds > mostSeconds || Math.round(seconds / local) > mostBeats;
}

export function breaksOf(series: NnSeries): Breaks {
  let [bridged, bridgedSeconds, wide, wideSeconds] = [0, 0, 0, 0];
  for (let i = 1; i < series.intervalsMs.length; i++) {
    if (series.adjacent[i] === 1) continue;
    const seconds = breakBefore(series, i);
    if (isWideBreak(series, i)) {
      wide++;
      wideSeconds += seconds;
    } else {
      bridged++;
      bridgedSeconds += seconds;
    }
  }
  return { bridged, bridgedSeconds, wide, wideSeconds };
}

/** The parts of a series between wide breaks, as views. */
export function stretchesOf(series: NnSeries): NnSeries[] {
  const out: NnSeries[] = [];
  const n = series.intervalsMs.length;
  for (let from = 0; from < n; ) {
    let to = from + 1;
    while (to < n && !isWideBreak(series, to)) to++;
    out.push({
      ...series,
      timesSeconds: series.timesSeconds.subarray(from, to),
      intervalsMs: series.intervalsMs.subarray(from, to),
      adjacent: series.adjacent.subarray(from, to),
    });
    from = to;
  }
  return out;
}
