import { measurePace } from './pace';
import { datedPattern, type SlashOrder, StampReader } from './stamp';
import { fractionDigits } from './stopwatch';
import type { DecimalMark } from './table';
import { cellKind, cellNumber } from './table';

/**
 * How a time column is written. 'clock' is a time of day without a date; 'sample' counts samples; 'day' is the serial date
 * of spreadsheets: days since 1899-12-30 on the wall clock, with fractions, and 'day-1904' the same since 1904-01-01, as
 * spreadsheets of the 1904 date system count. 'd' are days from any start.
 */
export type TimeFormat =
  | 's'
  | 'ms'
  | 'us'
  | 'ns'
  | 'min'
  | 'h'
  | 'd'
  | 'day'
  | 'day-1904'
  | 'sample'
  | 'iso'
  | 'clock'
  | 'epoch-s'
  | 'epoch-ms'
  | 'epoch-us'
  | 'epoch-ns';

/** A format of numbers. */
export type NumericTime = Exclude<TimeFormat, 'iso' | 'clock'>;

/** Seconds of one unit of a numeric time column. */
export const secondsPer: Readonly<Record<Exclude<NumericTime, 'sample'>, number>> = {
  s: 1,
  ms: 1e-3,
  us: 1e-6,
  ns: 1e-9,
  min: 60,
  h: 3600,
  d: 86_400,
  day: 86_400,
  'day-1904': 86_400,
  'epoch-s': 1,
  'epoch-ms': 1e-3,
  'epoch-us': 1e-6,
  'epoch-ns': 1e-9,
};

/** Whether the column carries a date, so that the recording has a start time. */
export function hasDate(format: TimeFormat): boolean {
  return format === 'iso' || isSerialDate(format) || format.startsWith('epoch');
}

/** Whether the format is a serial date of spreadsheets. */
export const isSerialDate = (format: TimeFormat | null) => format === 'day' || format === 'day-1904';

export const numericTimes: readonly NumericTime[] = [
  ...(Object.keys(secondsPer) as (keyof typeof secondsPer)[]),
  'sample',
];

/** Seconds from where a format counts to 1970. */
export const secondsTo1970 = (format: TimeFormat) =>
  format === 'day' ? 25_569 * 86_400 : format === 'day-1904' ? 24_107 * 86_400 : 0;

/** Serial dates of 1990-01-01 to 2100-01-01. */
const serialDates = { from: 32_874, to: 73_051 } as const;

/** Whether all numbers are serial dates with a time of day, of which hardly any goes back. */
export function areSerialDates(cells: readonly string[], decimalMark: DecimalMark): boolean {
  const values = cells.filter(c => cellKind(c, decimalMark) !== 'missing').map(c => cellNumber(c, decimalMark));
  const falls = values.filter((v, i) => i > 0 && v < values[i - 1]!).length;
  return (
    values.length > 1 &&
    values.every(v => v >= serialDates.from && v < serialDates.to) &&
    values.some(v => !Number.isInteger(v)) &&
    falls <= 0.02 * values.length
  );
}

/** Rows to 1 in a column of numbers; null where they do not rise. */
function rowsPerOne(cells: readonly string[], decimalMark: DecimalMark): number | null {
  const values = cells.map(c => cellNumber(c, decimalMark)).filter(v => !Number.isNaN(v));
  return measurePace(values, resolutionMs(cells, 's', decimalMark) / 1000)?.rateHz ?? null;
}

const encoder = new TextEncoder();

/** Seconds of one cell; NaN when it does not fit the format. `samplingRateHz` matters for 'sample' only. */
export function cellSeconds(
  cell: string,
  format: TimeFormat,
  decimalMark: DecimalMark,
  samplingRateHz: number,
  slashes: SlashOrder = 'dmy',
): number {
  if (format === 'iso' || format === 'clock') {
    const bytes = encoder.encode(cell);
    return new StampReader(slashes).read(bytes, 0, bytes.length);
  }
  const value = cellNumber(cell, decimalMark);
  return format === 'sample' ? value / samplingRateHz : value * secondsPer[format];
}

/** Finest step the written digits can show, in ms. */
export function resolutionMs(cells: readonly string[], format: TimeFormat, decimalMark: DecimalMark): number {
  if (format === 'sample') return 0;
  const mark = decimalMark === ',' ? /,(\d+)/ : /\.(\d+)/;
  const stamp = format === 'iso' || format === 'clock';
  const decimals = Math.max(
    0,
    ...cells.slice(0, 2000).map(c => (stamp ? fractionDigits(c) : (mark.exec(c)?.[1]?.length ?? 0))),
  );
  return 10 ** -decimals * 1000 * (stamp ? 1 : secondsPer[format]);
}

/** Format from the column's name, e.g. `time (ms)`, `t_us`, `timestamp`, `sample`. */
export function formatFromName(name: string): NumericTime | null {
  const text = name.trim().toLowerCase();
  if (/^(sample|samples|index|idx|n|sample[ _]?(index|number|no))$/.test(text)) return 'sample';
  if (
    !/^(t|x|time|timestamps?|zeit|elapsed|hours?|stunden|days|tage|seconds?|millis(econds)?|ms|us|ns|s)\b|^(t|time)_|time|uhrzeit/.test(
      text,
    )
  )
    return null;
  if (/\b(us|µs|μs|microseconds?)\b|_us$/.test(text)) return 'us';
  if (/\b(ns|nanoseconds?)\b|_ns$/.test(text)) return 'ns';
  if (/\b(ms|msec|millis|milliseconds?)\b|_ms$/.test(text)) return 'ms';
  if (/\b(s|sec|secs|seconds?)\b|_s$/.test(text)) return 's';
  // These last: `time since 5 min of rest (s)`.
  if (/\b(min|mins|minutes?|minuten)\b|_min$/.test(text)) return 'min';
  if (/\b(hrs?|hours?|stunden)\b|[([]h[)\]]$|_h(rs?|ours?)?$/.test(text)) return 'h';
  return /\b(days|tage)\b|[([]d[)\]]$|_d(ays?)?$/.test(text) ? 'd' : null;
}

/** Format from the values of a rising column; null when nothing plausible fits. */
export function formatFromValues(cells: readonly string[], decimalMark: DecimalMark): TimeFormat | null {
  const present = cells.filter(c => cellKind(c, decimalMark) !== 'missing');
  if (present.length < 2) return null;
  if (present.every(c => cellKind(c, decimalMark) === 'stamp')) return datedPattern.test(present[0]!) ? 'iso' : 'clock';
  const values = present.map(c => cellNumber(c, decimalMark));
  if (values.some(v => Number.isNaN(v)) || !mostlyRising(values)) return null;
  const first = values[0]!;
  const epochs = [1e9, 1e12, 1e15, 1e18].findIndex(e => first >= 0.9 * e && first < 4 * e);
  if (epochs >= 0) return (['epoch-s', 'epoch-ms', 'epoch-us', 'epoch-ns'] as const)[epochs]!;
  const step = medianStep(values);
  const isRate = (rate: number) => rate >= 20 && rate <= 20_000;
  const unit = (['s', 'ms', 'us', 'ns'] as const).find(u => isRate(1 / (step * secondsPer[u])));
  if (step === 1 && values.every(v => Number.isInteger(v))) return 'sample';
  if (unit || !areSerialDates(present, decimalMark)) return unit ?? null;
  return isRate((rowsPerOne(present, decimalMark) ?? 0) / secondsPer.day) ? 'day' : null;
}

export function mostlyRising(values: readonly number[]): boolean {
  let falls = 0;
  for (let i = 1; i < values.length; i++) if (values[i]! < values[i - 1]!) falls++;
  return values.length > 1 && falls <= values.length * 0.02 && values.at(-1)! > values[0]!;
}

function medianStep(values: readonly number[]): number {
  const steps = Float64Array.from({ length: values.length - 1 }, (_, i) => values[i + 1]! - values[i]!).sort();
  return steps[steps.length >> 1] ?? 0;
}
