import type { DecimalMark } from './table';
import { cellKind, cellNumber } from './table';

/** How a time column is written. 'clock' is a time of day without a date; 'sample' counts samples. */
export type TimeFormat =
  | 's'
  | 'ms'
  | 'us'
  | 'ns'
  | 'sample'
  | 'iso'
  | 'clock'
  | 'epoch-s'
  | 'epoch-ms'
  | 'epoch-us'
  | 'epoch-ns';

/** Seconds of one unit of a numeric time column. */
export const secondsPer: Readonly<Record<Exclude<TimeFormat, 'iso' | 'clock' | 'sample'>, number>> = {
  s: 1,
  ms: 1e-3,
  us: 1e-6,
  ns: 1e-9,
  'epoch-s': 1,
  'epoch-ms': 1e-3,
  'epoch-us': 1e-6,
  'epoch-ns': 1e-9,
};

/** Whether the column carries a date, so that the recording has a start time. */
export function hasDate(format: TimeFormat): boolean {
  return format === 'iso' || format.startsWith('epoch');
}

/**
 * Seconds of an ISO 8601 date and time, `DD.MM.YYYY HH:MM:SS`, or a time of day, from ASCII bytes `[from, to)`. The
 * wall clock is taken as written: a zone at the end is not applied. NaN when it is no such stamp.
 */
export function stampSeconds(bytes: Uint8Array, from: number, to: number): number {
  const fields: number[] = [];
  let i = from;
  let dayFirst = false;
  let dashes = 0;
  let fraction = 0;
  while (i < to && fields.length < 6) {
    const start = i;
    let value = 0;
    while (i < to && bytes[i]! >= 48 && bytes[i]! <= 57) value = value * 10 + bytes[i++]! - 48;
    if (i === start) return Number.NaN;
    fields.push(value);
    const mark = bytes[i];
    if (fields.length === 1 && mark === 0x2e && i - start === 2) dayFirst = true;
    if (mark === 0x2d || mark === 0x2f || (dayFirst && mark === 0x2e && fields.length < 3)) dashes++;
    else if ((mark === 0x2e || mark === 0x2c) && i < to) {
      fraction = fractionOf(bytes, i + 1, to);
      break;
    } else if (mark !== 0x3a && mark !== 0x54 && mark !== 0x20) break;
    i++;
    if (fields.length === (dashes >= 2 ? 6 : 3)) break;
  }
  return dashes >= 2 ? dated(fields, dayFirst, fraction) : clock(fields, fraction);
}

function fractionOf(bytes: Uint8Array, from: number, to: number): number {
  let value = 0;
  let scale = 1;
  for (let i = from; i < to && bytes[i]! >= 48 && bytes[i]! <= 57; i++) {
    value = value * 10 + bytes[i]! - 48;
    scale *= 10;
  }
  return value / scale;
}

function dated(f: readonly number[], dayFirst: boolean, fraction: number): number {
  const [year, month, day] = dayFirst ? [f[2]!, f[1]!, f[0]!] : [f[0]!, f[1]!, f[2]!];
  const [hour, minute, second] = [f[3] ?? 0, f[4] ?? 0, f[5] ?? 0];
  if (f.length < 3 || year < 1900 || year > 9998 || month < 1 || month > 12 || day < 1 || day > 31) return Number.NaN;
  return clock([hour, minute, second], fraction) + Date.UTC(year, month - 1, day) / 1000;
}

function clock(f: readonly number[], fraction: number): number {
  const [hour, minute, second] = [f[0]!, f[1], f[2] ?? 0];
  if (minute === undefined || hour > 24 || minute > 59 || second > 60) return Number.NaN;
  return hour * 3600 + minute * 60 + second + fraction;
}

const encoder = new TextEncoder();

/** Seconds of one cell; NaN when it does not fit the format. `samplingRateHz` matters for 'sample' only. */
export function cellSeconds(
  cell: string,
  format: TimeFormat,
  decimalMark: DecimalMark,
  samplingRateHz: number,
): number {
  if (format === 'iso' || format === 'clock') {
    const bytes = encoder.encode(cell);
    return stampSeconds(bytes, 0, bytes.length);
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
    ...cells.slice(0, 2000).map(c => (stamp ? lastFraction(c) : (mark.exec(c)?.[1]?.length ?? 0))),
  );
  return 10 ** -decimals * 1000 * (stamp ? 1 : secondsPer[format]);
}

function lastFraction(cell: string): number {
  return /:\d\d[.,](\d+)/.exec(cell)?.[1]?.length ?? 0;
}

/** Format from the column's name, e.g. `time (ms)`, `t_us`, `timestamp`, `sample`. */
export function formatFromName(name: string): TimeFormat | null {
  const text = name.trim().toLowerCase();
  if (/^(sample|samples|index|idx|n|sample[ _]?(index|number|no))$/.test(text)) return 'sample';
  if (!/^(t|x|time|timestamps?|zeit|elapsed|seconds?|millis(econds)?|ms|us|ns|s)\b|^(t|time)_|time|uhrzeit/.test(text))
    return null;
  if (/\b(us|µs|μs|microseconds?)\b|_us$/.test(text)) return 'us';
  if (/\b(ns|nanoseconds?)\b|_ns$/.test(text)) return 'ns';
  if (/\b(ms|msec|millis|milliseconds?)\b|_ms$/.test(text)) return 'ms';
  return /\b(s|sec|secs|seconds?)\b|_s$/.test(text) ? 's' : null;
}

/** Format from the values of a rising column; null when nothing plausible fits. */
export function formatFromValues(cells: readonly string[], decimalMark: DecimalMark): TimeFormat | null {
  const present = cells.filter(c => cellKind(c, decimalMark) !== 'missing');
  if (present.length < 2) return null;
  if (present.every(c => cellKind(c, decimalMark) === 'stamp'))
    return /^(\d{4}[-/]|\d\d\.\d\d\.\d{4})/.test(present[0]!) ? 'iso' : 'clock';
  const values = present.map(c => cellNumber(c, decimalMark));
  if (values.some(v => Number.isNaN(v)) || !mostlyRising(values)) return null;
  const first = values[0]!;
  const epochs = [1e9, 1e12, 1e15, 1e18].findIndex(e => first >= 0.9 * e && first < 4 * e);
  if (epochs >= 0) return (['epoch-s', 'epoch-ms', 'epoch-us', 'epoch-ns'] as const)[epochs]!;
  const step = medianStep(values);
  const unit = (['s', 'ms', 'us', 'ns'] as const).find(u => {
    const rate = 1 / (step * secondsPer[u]);
    return rate >= 20 && rate <= 20_000;
  });
  return step === 1 && values.every(v => Number.isInteger(v)) ? 'sample' : (unit ?? null);
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

/**
 * Nominal sampling rate of time stamps in seconds: mean step over stretches without a gap, so that stamps rounded to
 * whole ms do not bend it, then the nearest whole Hz if the stamps cannot tell it from that. Null when there is none.
 */
export function estimateRateHz(seconds: readonly number[], resolutionSeconds: number): number | null {
  const typical = typicalStep(seconds);
  if (!(typical > 0)) return null;
  let longest = 0;
  let steps = 0;
  let worst = 0;
  for (let i = 1, from = 0; i <= seconds.length; i++) {
    const step = i < seconds.length ? seconds[i]! - seconds[i - 1]! : Number.POSITIVE_INFINITY;
    if (step >= 0 && step <= 1.5 * typical + resolutionSeconds) {
      worst = Math.max(worst, Math.abs(step - typical));
      continue;
    }
    if (i - 1 - from > steps) [steps, longest] = [i - 1 - from, seconds[i - 1]! - seconds[from]!];
    from = i;
  }
  if (steps < 1 || longest <= 0) return null;
  const rate = steps / longest;
  const slack = (2 * (resolutionSeconds + worst)) / longest + 1e-6;
  const whole = Math.round(rate);
  return whole > 0 && Math.abs(whole / rate - 1) <= slack ? whole : Number(rate.toPrecision(9));
}

/** The median step, or the mean one when most stamps repeat (stamps too coarse, or set once per packet). */
function typicalStep(seconds: readonly number[]): number {
  const middle = medianStep(seconds);
  if (middle > 0 || seconds.length < 2) return middle;
  const last = seconds.at(-1)!;
  const lastNew = seconds.indexOf(last);
  const step = (last - seconds[0]!) / Math.max(1, lastNew);
  let widest = 0;
  for (let i = 1; i < seconds.length; i++) widest = Math.max(widest, seconds[i]! - seconds[i - 1]!);
  return Math.max(step, widest);
}
