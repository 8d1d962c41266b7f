import type { Recording } from '../../core/recording/recording';
import { wallMs } from '../opened';
import { areOfAnHour, elapsedInOrder } from './stopwatch';

/** What marks and segments are put on. */
export type ListClock = Pick<Recording, 'samplingRateHz' | 'sampleCount' | 'startedAt' | 'utcOffsetMinutes'>;

/** A date or time as a cell has it: seconds of the wall clock as written, and its zone. */
export interface WallStamp {
  readonly seconds: number;
  readonly offsetMinutes: number | null;
}

const daySeconds = 86_400;
const hourSeconds = 3600;

/** Start of the recording as wall seconds; null when it has none. */
export function startSeconds(clock: ListClock): number | null {
  const ms = clock.startedAt === null ? null : wallMs(clock.startedAt);
  return ms === null ? null : ms / 1000;
}

/** Seconds since midnight of the recording's start. */
export function dayStart(start: number): number {
  return ((start % daySeconds) + daySeconds) % daySeconds;
}

/** A stamp on the recording's own wall clock. Where one of the two names no zone, the wall clock is taken as written. */
export function onRecordingClock(stamp: WallStamp, clock: ListClock): number {
  if (stamp.offsetMinutes === null || clock.utcOffsetMinutes === undefined) return stamp.seconds;
  return stamp.seconds + (clock.utcOffsetMinutes - stamp.offsetMinutes) * 60;
}

/** Times of day that begin this soon after midnight may as well count from the start of the recording, in s. */
const soonSeconds = 60;

/**
 * Seconds from the recording's start to each stamp. Times of day run over midnight; where most lie outside the recording, or
 * it has no start, they count from its first sample if that puts them inside, which is reported. Otherwise, when most lie
 * outside, they are moved by the zone that puts them inside if they name a zone; the hours that would are only reported.
 */
export function fromStart(
  stamps: readonly WallStamp[],
  unit: 'iso' | 'clock',
  clock: ListClock,
  warnings: string[],
): number[] {
  const start = startSeconds(clock);
  const plain = counted(
    stamps.map(s => s.seconds),
    unit,
    0,
  );
  const isSoon = unit === 'clock' && (plain[0] ?? soonSeconds) < soonSeconds;
  const isPlain = isSoon && inside(plain, 0, clock) >= 0.9 * plain.length;
  if (start === null && isPlain) {
    warnings.push('The recording has no start time; times are counted from its first sample.');
    return plain;
  }
  if (start === null) {
    warnings.push('The recording has no start time; the first mark is put at its first sample.');
    return counted(
      stamps.map(s => s.seconds),
      unit,
      stamps[0]?.seconds ?? 0,
    );
  }
  const from = unit === 'clock' ? dayStart(start) : start;
  const seconds = counted(
    stamps.map(s => onRecordingClock(s, clock)),
    unit,
    from,
  );
  const zoned = stamps.some(s => s.offsetMinutes !== null);
  if (zoned && clock.utcOffsetMinutes === undefined) return inSomeZone(stamps, unit, clock, from, seconds, warnings);
  const within = inside(seconds, 0, clock);
  if (isPlain && !zoned && 2 * within < seconds.length) {
    warnings.push(
      `As times of day ${seconds.length - within} of ${seconds.length} marks lie outside the recording: they are read as times from its first sample.`,
    );
    return plain;
  }
  tellShift(seconds, clock, warnings);
  return seconds;
}

/**
 * Seconds from the recording's first sample to each time as of a stopwatch. A spreadsheet that shows minutes and seconds
 * leaves out the hour of times of day: where most lie outside otherwise, they are read as such, and where both are
 * possible that is said.
 */
export function fromFirstSample(cells: readonly string[], clock: ListClock, warnings: string[]): number[] {
  const seconds = elapsedInOrder(cells, warnings);
  const start = startSeconds(clock);
  const sinceHour = start === null ? 0 : dayStart(start) % hourSeconds;
  if (sinceHour === 0 || !areOfAnHour(cells)) return seconds;
  const passed = (seconds[0] ?? 0) < sinceHour - hourSeconds / 2 ? hourSeconds : 0;
  const ofDay = seconds.map(s => s - sinceHour + passed);
  const within = inside(seconds, 0, clock);
  if (inside(ofDay, 0, clock) < 0.9 * cells.length) return seconds;
  if (2 * within < cells.length) {
    warnings.push(
      `Counted from the first sample ${cells.length - within} of ${cells.length} marks lie outside the recording: "${cells[0]}" is read as minutes and seconds of the time of day, without its hour.`,
    );
    return ofDay;
  }
  if (seconds[0]! >= soonSeconds)
    warnings.push(
      `"${cells[0]}" is counted from the first sample. If it is a time of day without its hour, the first mark is at ${ofDay[0]!.toFixed(3)} s.`,
    );
  return seconds;
}

function counted(seconds: readonly number[], unit: 'iso' | 'clock', from: number): number[] {
  let days = 0;
  let last = unit === 'clock' ? from : Number.NEGATIVE_INFINITY;
  return seconds.map(v => {
    if (unit === 'clock' && v < last - daySeconds / 2) days += daySeconds;
    last = v;
    return v + days - from;
  });
}

function inside(seconds: readonly number[], shift: number, clock: ListClock): number {
  const length = clock.sampleCount / clock.samplingRateHz;
  let n = 0;
  for (const s of seconds) if (s + shift >= 0 && s + shift < length) n++;
  return n;
}

/** The recording's zone is not known, that of the marks is: as written, else the zone in which most marks lie inside. */
function inSomeZone(
  stamps: readonly WallStamp[],
  unit: 'iso' | 'clock',
  clock: ListClock,
  from: number,
  asWritten: readonly number[],
  warnings: string[],
): number[] {
  const written = inside(asWritten, 0, clock);
  if (written >= 0.5 * stamps.length) {
    warnings.push('The marks name a time zone, the recording none: they are read as times of its own clock.');
    return [...asWritten];
  }
  const utc = counted(
    stamps.map(s => s.seconds - (s.offsetMinutes ?? 0) * 60),
    unit,
    from,
  );
  let best = { minutes: 0, count: written };
  for (let minutes = -12 * 60; minutes <= 14 * 60; minutes += 15) {
    const count = inside(utc, minutes * 60, clock);
    if (count > best.count || (count === best.count && Math.abs(minutes) < Math.abs(best.minutes)))
      best = { minutes, count };
  }
  if (best.count <= 0.5 * stamps.length) return [...asWritten];
  warnings.push(
    `The marks name a time zone, the recording none. Its clock is taken as ${zoneName(best.minutes)}, which puts ` +
      `${best.count} of ${stamps.length} marks inside it.`,
  );
  return utc.map(s => s + best.minutes * 60);
}

function zoneName(minutes: number): string {
  if (minutes === 0) return 'UTC';
  const two = (n: number) => String(n).padStart(2, '0');
  const size = Math.abs(minutes);
  return `UTC${minutes < 0 ? '-' : '+'}${two(Math.floor(size / 60))}:${two(size % 60)}`;
}

/** Whole hours that would bring most marks inside, reported and not applied. */
function tellShift(seconds: readonly number[], clock: ListClock, warnings: string[]): void {
  const now = inside(seconds, 0, clock);
  if (seconds.length === 0 || now >= 0.5 * seconds.length) return;
  for (let hours = 1; hours <= 14; hours++) {
    for (const signed of [hours, -hours]) {
      const count = inside(seconds, signed * 3600, clock);
      if (count < 0.9 * seconds.length) continue;
      const moved = `${signed > 0 ? '+' : '-'}${hours} h`;
      warnings.push(
        `${now} of ${seconds.length} marks lie in the recording; with their clock moved by ${moved}, ${count} would.`,
      );
      return;
    }
  }
}
