import { datedPattern } from './stamp';
import { cellKind, cellNumber, type DecimalMark } from './table';
import { mostlyRising } from './time';
import type { ListClock } from './wall-clock';

/** What a column of detected marks holds. RR intervals add up from a start; 'clock' and 'iso' count from the recording's start. */
export type MarkUnit = 'sample' | 's' | 'ms' | 'us' | 'min' | 'rr-ms' | 'rr-s' | 'iso' | 'clock';

export const unitWords: Readonly<Record<MarkUnit, string>> = {
  sample: 'sample indices',
  s: 'times in s',
  ms: 'times in ms',
  us: 'times in µs',
  min: 'times in minutes',
  'rr-ms': 'RR intervals in ms',
  'rr-s': 'RR intervals in s',
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
  const ms = /(^|[^a-z])(ms|msec|milliseconds?)([^a-z]|$)/.test(text);
  const s = /(^|[^a-z])(s|sec|seconds?)([^a-z]|$)/.test(text);
  if (/(^|[^a-z])(rr|rri|ibi|nn|r-r)([^a-z]|$)|interval/.test(text)) return ms ? say('rr-ms') : s ? say('rr-s') : null;
  if (/time|^t(_|\b)|peak|onset|beat/.test(text)) {
    return ms ? say('ms') : us ? say('us') : min ? say('min') : s ? say('s') : null;
  }
  return text === 'ms' ? say('ms') : text === 's' ? say('s') : null;
}

/** Common practice: RR intervals lie between 0.25 and 2.5 s and go up and down; times and indices only rise. */
export function unitFromValues(cells: readonly string[], decimalMark: DecimalMark, clock: ListClock | null): Guess {
  if (cells.every(c => cellKind(c, decimalMark) === 'stamp')) {
    return datedPattern.test(cells[0] ?? '')
      ? { unit: 'iso', why: 'the cells are dates with times' }
      : { unit: 'clock', why: 'the cells are times of day' };
  }
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
