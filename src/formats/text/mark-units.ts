import { datedPattern } from './stamp';
import { isElapsed, isNoTimeOfDay } from './stopwatch';
import { cellKind, cellNumber, type DecimalMark } from './table';
import { mostlyRising } from './time';
import type { ListClock } from './wall-clock';

/**
 * What a column of detected marks holds. RR intervals add up from a start; 'elapsed' is `m:ss` or `h:mm:ss` from the
 * recording's first sample; 'clock' and 'iso' count from its start.
 */
export type MarkUnit = 'sample' | 's' | 'ms' | 'us' | 'min' | 'h' | 'rr-ms' | 'rr-s' | 'elapsed' | 'iso' | 'clock';

export const unitWords: Readonly<Record<MarkUnit, string>> = {
  sample: 'sample indices',
  s: 'times in s',
  ms: 'times in ms',
  us: 'times in µs',
  min: 'times in minutes',
  h: 'times in hours',
  'rr-ms': 'RR intervals in ms',
  'rr-s': 'RR intervals in s',
  elapsed: 'minutes and seconds from the start',
  iso: 'dates and times',
  clock: 'times of day',
};

/** A unit, and what it was told from. */
interface Guess {
  readonly unit: MarkUnit;
  readonly why: string;
}

/** A unit from a column's name: `sample`, `time_s`, `rr_ms`, `RR (ms)`, `peak [s]`. */
export function unitFromName(name: string): Guess | null {
  const text = name.trim().toLowerCase();
  const say = (unit: MarkUnit): Guess => ({ unit, why: `the column is called "${name.trim()}"` });
  if (/^(samples?|index|indices|sample[ _]?(index|number)|r[ _]?peaks?[ _]samples?)$/.test(text)) return say('sample');
  const us = /(^|[^a-z])(us|µs|μs|microseconds?)([^a-z]|$)/.test(text);
  const min = /(^|[^a-z])(min|minutes?)([^a-z]|$)/.test(text);
  // A bare `hr` is a heart rate.
  const h = /(^|[^a-z])(h|hrs|hours?)([^a-z:]|$)|[([]hr[)\]]|^(t|time)[ _]hr$/.test(text);
  const ms = /(^|[^a-z])(ms|msec|milliseconds?)([^a-z]|$)/.test(text);
  const s = /(^|[^a-z])(s|sec|seconds?)([^a-z]|$)/.test(text);
  if (/(^|[^a-z])(rr|rri|ibi|nn|r-r)([^a-z]|$)|interval/.test(text)) return ms ? say('rr-ms') : s ? say('rr-s') : null;
  if (/time|^t(_|\b)|peak|onset|beat/.test(text)) {
    return ms ? say('ms') : us ? say('us') : min ? say('min') : s ? say('s') : h ? say('h') : null;
  }
  return text === 'ms' ? say('ms') : text === 's' ? say('s') : null;
}

/** Whether most of the cells are dates or times: one that is none is to be named, and does not make numbers of the others. */
export const areStamps = (cells: readonly string[], decimalMark: DecimalMark) =>
  2 * cells.filter(c => cellKind(c, decimalMark) === 'stamp').length > cells.length;

function unitOfStamps(cells: readonly string[]): Guess {
  if (datedPattern.test(cells[0] ?? '')) return { unit: 'iso', why: 'the cells are dates with times' };
  const elapsed = cells.find(isNoTimeOfDay);
  if (elapsed !== undefined) return { unit: 'elapsed', why: `"${elapsed}" is no time of day` };
  const coarse = cells.find(isElapsed);
  if (coarse !== undefined)
    return { unit: 'elapsed', why: `beats are too close for "${coarse}" to be hours and minutes` };
  return { unit: 'clock', why: 'the cells are times of day' };
}

/** A name such as `time (mm:ss.fff)` or `elapsed`; of a time of day, all of `hh:mm:ss` may be there. */
export function saysElapsed(name: string): Guess | null {
  const says = /(^|[^a-z:])m{1,2}:ss|elapsed/i.test(name);
  return says ? { unit: 'elapsed', why: `the column is called "${name.trim()}"` } : null;
}

/** Common practice: RR intervals lie between 0.25 and 2.5 s and go up and down; times and indices only rise. */
export function unitFromValues(cells: readonly string[], decimalMark: DecimalMark, clock: ListClock | null): Guess {
  if (areStamps(cells, decimalMark)) return unitOfStamps(cells);
  const values = cells.map(c => cellNumber(c, decimalMark)).filter(v => !Number.isNaN(v));
  const sorted = Float64Array.from(values).sort();
  const middle = sorted[sorted.length >> 1] ?? 0;
  const rising = mostlyRising(values);
  if (!rising && middle >= 250 && middle <= 2500)
    return { unit: 'rr-ms', why: 'the values go up and down around 1000' };
  if (!rising && middle >= 0.25 && middle <= 2.5) return { unit: 'rr-s', why: 'the values go up and down around 1' };
  if (values.some(v => !Number.isInteger(v))) return { unit: 's', why: 'the values rise and have decimals' };
  const last = sorted.at(-1) ?? 0;
  if (clock && last >= clock.sampleCount && last / 1000 <= clock.sampleCount / clock.samplingRateHz) {
    return { unit: 'ms', why: 'the values rise past the last sample but stay inside the recording as ms' };
  }
  return { unit: 'sample', why: 'the values are whole numbers that rise' };
}
