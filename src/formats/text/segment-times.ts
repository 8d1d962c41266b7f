import type { DecimalMark } from './numbers';
import { type SlashOrder, stampOf } from './stamp';
import { elapsedSeconds } from './stopwatch';
import { dayStart, type ListClock, onRecordingClock, startSeconds } from './wall-clock';

/** How a segment list says its times. */
interface SegmentTimes {
  readonly decimalMark: DecimalMark;
  readonly slashes: SlashOrder;
  readonly unit: 'sample' | 's' | 'ms' | 'min' | 'h' | 'elapsed' | 'iso' | 'clock';
  readonly endIs: 'end' | 'duration';
  readonly durationUnit: 'sample' | 's' | 'ms' | 'min' | 'h';
}

type ToSpan = (start: string, end: string) => [number, number];

const daySeconds = 86_400;
const divisors = { s: 1, ms: 1000, min: 1 / 60, h: 1 / 3600 } as const;

/**
 * Turns the cells of start and end (or duration), row by row, into samples; NaN where a cell is none. Times of day go on
 * over midnight: a row begins no earlier than the one before if that keeps it inside the recording, and ends after it
 * begins.
 */
export function segmentPlacer(layout: SegmentTimes, clock: ListClock, warnings: string[]): ToSpan {
  const near = (seconds: number) => Math.floor(seconds * clock.samplingRateHz + 0.5);
  const inUnit = (cell: string, unit: SegmentTimes['durationUnit']) => {
    const value = numberOf(cell, layout.decimalMark);
    if (unit === 'sample') return Math.floor(value + 0.5);
    return near(unit === 'min' ? value * 60 : unit === 'h' ? value * 3600 : value / divisors[unit]);
  };
  const lasts = (cell: string) => {
    const clockTime = /^\d+:\d\d(:\d\d([.,]\d+)?)?$/.test(cell) ? stampOf(cell.padStart(5, '0')) : null;
    return clockTime ? near(clockTime.seconds) : inUnit(cell, layout.durationUnit);
  };
  const { unit } = layout;
  if (unit === 'elapsed') {
    const ends = (cell: string, from: number) =>
      layout.endIs === 'end'
        ? near(elapsedSeconds(cell))
        : from + (cell.includes(':') ? near(elapsedSeconds(cell)) : lasts(cell));
    return (start, end) => {
      const from = near(elapsedSeconds(start));
      return [from, ends(end, from)];
    };
  }
  if (unit !== 'iso' && unit !== 'clock') {
    return (start, end) => {
      const from = inUnit(start, unit);
      return [from, layout.endIs === 'duration' ? from + lasts(end) : inUnit(end, unit)];
    };
  }
  const seconds = unit === 'iso' ? datedSeconds(layout, clock, warnings) : clockSeconds(layout, clock, warnings);
  return (start, end) => {
    const from = seconds.start(start);
    return [near(from), layout.endIs === 'duration' ? near(from) + lasts(end) : near(seconds.end(end, from))];
  };
}

function numberOf(cell: string, mark: DecimalMark): number {
  const plain = mark === ',' ? cell.replace(',', '.') : cell;
  return /^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?$/i.test(plain) ? Number(plain) : Number.NaN;
}

interface FromStart {
  start(cell: string): number;
  end(cell: string, start: number): number;
}

function begins(clock: ListClock, warnings: string[]): number {
  const start = startSeconds(clock);
  if (start === null) warnings.push('The recording has no start time; times are taken to count from its first sample.');
  return start ?? 0;
}

/** Wall seconds of a cell on the recording's clock. */
function wallReader(layout: SegmentTimes, clock: ListClock, warnings: string[]): (cell: string) => number {
  let reported = false;
  return cell => {
    const stamp = stampOf(cell, layout.slashes);
    if (!stamp) return Number.NaN;
    if (stamp.offsetMinutes !== null && clock.utcOffsetMinutes === undefined && !reported) {
      warnings.push('The segments name a time zone, the recording none: they are read as times of its own clock.');
      reported = true;
    }
    return onRecordingClock(stamp, clock);
  };
}

function datedSeconds(layout: SegmentTimes, clock: ListClock, warnings: string[]): FromStart {
  const start = begins(clock, warnings);
  const wall = wallReader(layout, clock, warnings);
  return { start: cell => wall(cell) - start, end: cell => wall(cell) - start };
}

function clockSeconds(layout: SegmentTimes, clock: ListClock, warnings: string[]): FromStart {
  const day = dayStart(begins(clock, warnings));
  const wall = wallReader(layout, clock, warnings);
  const length = clock.sampleCount / clock.samplingRateHz;
  let last = Number.NEGATIVE_INFINITY;
  let reported = false;
  return {
    start(cell) {
      let t = wall(cell) - day;
      if (t < -daySeconds / 2) t += daySeconds;
      while (t < last && t + daySeconds < length) {
        t += daySeconds;
        if (!reported && length > daySeconds)
          warnings.push('Times of day name no day: the days follow the order of the rows.');
        reported = true;
      }
      if (Number.isFinite(t)) last = Math.max(last, t);
      return t;
    },
    end(cell, start) {
      let t = wall(cell) - day;
      while (t < start - daySeconds / 2 || (t <= start && t + daySeconds <= length + 60)) t += daySeconds;
      return t;
    },
  };
}
