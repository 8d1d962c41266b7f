import { isUsualRate, measurePace, type Pace } from './pace';
import { type SlashOrder, stampOf } from './stamp';
import type { StatedRates } from './stated';
import type { DecimalMark, TextTable } from './table';
import { cellKind } from './table';
import type { NumericTime, TimeFormat } from './time';
import {
  areSerialDates,
  cellSeconds,
  formatFromName,
  formatFromValues,
  isSerialDate,
  resolutionMs,
  secondsPer,
} from './time';

export const rateNeeded = 'it must be given.';

/** Common practice: an ECG is recorded at 50 Hz or more, and hardly at more than 5 kHz; beyond 20 kHz it is none. */
const ecgHz = { least: 49.5, usualMost: 5000, most: 20_000 } as const;
export const hasEcgRate = (rateHz: number) => rateHz >= ecgHz.least && rateHz <= ecgHz.most;
/** Ends a doubt that a rate of an ECG settles. */
export const noEcgRate = 'an ECG has 50 Hz to 20 kHz. Check what the time is in.';
/** Two rates are the same one, as far as a preview can measure them. */
const rateSlack = 0.01;

/** By name, else the first column if it rises like a clock and others follow. */
export function findTimeColumn(table: TextTable, column: (c: number) => string[]): number {
  const named = table.header?.findIndex((h, c) => {
    const cells = column(c);
    if (/dat(e|um)|day|serial/i.test(h) && formatFromValues(cells, table.decimalMark) === 'day') return true;
    if (
      !/^(t|x|zeit|elapsed|hours?|stunden|days|tage|s|ms|us|ns|index|idx|n|samples?)\b|^t_|time|uhrzeit|^sample/i.test(
        h,
      )
    )
      return false;
    if (formatFromValues(cells, table.decimalMark) !== null) return true;
    return formatFromName(h) !== null && cells.some(v => cellKind(v, table.decimalMark) === 'number');
  });
  if (named !== undefined && named >= 0) return named;
  for (let c = 0; c < table.columnCount - (table.columnCount === 1 ? 1 : 0); c++) {
    const stamps = column(c)
      .slice(0, 50)
      .filter(v => cellKind(v, table.decimalMark) === 'stamp');
    if (stamps.length > 1 && stamps.at(-1) !== stamps[0] && formatFromValues(column(c), table.decimalMark)) return c;
  }
  if (table.columnCount > 1 && formatFromValues(column(0), table.decimalMark) !== null) return 0;
  return table.header?.findIndex((h, c) => isDateName(h) && areSerialDates(column(c), table.decimalMark)) ?? -1;
}

const isDateName = (name: string) => /dat(e|um)|time|zeit|serial/i.test(name);

/** What the cells of a time column are read as. */
export interface TimeReading {
  readonly format: TimeFormat;
  readonly cells: readonly string[];
  /** Finest step that the written digits can show. */
  readonly resolutionMs: number;
  /** Other units that the numbers may be in. */
  readonly others: readonly NumericTime[];
  /** How the rows come in time, where it was measured on the way. */
  readonly pace?: Pace | null;
}

/**
 * Dates and times of day are what they are. Numbers are in what their name says, else what their steps say, unless that
 * makes a rate that no ECG has and another unit makes a usual one. `asked` is what the person says; null without a reading.
 */
export function timeReading(
  table: TextTable,
  c: number,
  stated: readonly number[],
  asked: NumericTime | undefined,
  doubts: string[],
): TimeReading | null {
  const cells = table.rows.map(r => r[c] ?? '');
  const among = formatOf(cells, table, c, stated, asked, doubts);
  return among && { ...among, cells, resolutionMs: resolutionMs(cells, among.format, table.decimalMark) };
}

function formatOf(
  cells: readonly string[],
  { decimalMark, header, comments }: TextTable,
  c: number,
  stated: readonly number[],
  asked: NumericTime | undefined,
  doubts: string[],
): Among | null {
  const only = (format: TimeFormat): Among => ({ format, others: [] });
  const byValue = formatFromValues(cells, decimalMark);
  if (byValue === 'iso' || byValue === 'clock') return only(byValue);
  if (asked) return only(asked);
  const byName = formatFromName(header?.[c] ?? '');
  const isSerial = areSerialDates(cells, decimalMark);
  const isEpoch = byValue?.startsWith('epoch') && byName !== 'sample';
  const first = (isEpoch ? null : byName) ?? byValue ?? (isSerial ? 'day' : null);
  if (first === null) return null;
  // Days that count from a start hardly reach those of a date.
  if (first === 'day' || (first === 'd' && isSerial)) return only(says1904(header?.[c], comments) ? 'day-1904' : 'day');
  if (first.startsWith('epoch'))
    doubts.push(...farDateDoubt(header?.[c] || `Column ${c + 1}`, first, cells, decimalMark));
  const counted = first === 'sample' ? 's' : first;
  const pace = paceIn(counted, cells, decimalMark);
  const rowsPerUnit = pace && pace.rateHz * secondsPer[counted];
  const isWhole = resolutionMs(cells, 's', decimalMark) === 1000;
  const among = amongReadings(first, byName, rowsPerUnit, stated, { isSerial, isWhole });
  const { format, others } = among;
  if (others.length > 0) doubts.push(unitDoubt(header?.[c] || `Column ${c + 1}`, format, byName, others, rowsPerUnit!));
  else if (!byName && !format.startsWith('epoch')) {
    const what = format === 'sample' ? 'counts samples' : `is in ${format}`;
    doubts.push(`Column ${c + 1} does not say its unit; by its steps it ${what}.`);
  }
  return format === counted ? { ...among, pace } : among;
}

/** Seconds from 1904-01-01, from which some systems count, to 1970. */
const from1904To1970 = 2_082_844_800;
/** No recording is of 2050 or later; counted from 1904, what was recorded from 1984 to 2030 lies behind it. */
const farSeconds = Date.UTC(2050, 0) / 1000;

/** What to ask where numbers counted from 1970 make a date that is still to come. */
function farDateDoubt(name: string, format: NumericTime, cells: readonly string[], mark: DecimalMark): string[] {
  const seconds = cells.map(cell => cellSeconds(cell, format, mark, 1)).find(s => !Number.isNaN(s));
  if (seconds === undefined || seconds < farSeconds) return [];
  const dayOf = (s: number) => new Date(s * 1000).toISOString().slice(0, 10);
  return [
    `"${name}" is read ${readWords[format]}, which makes a start on ${dayOf(seconds)}; counted from 1904 it would be ` +
      `${dayOf(seconds - from1904To1970)}. Choose a unit without a date, or write the times as dates.`,
  ];
}

/** Whether the name of the column, or a line above the rows, says the 1904 date system. */
const says1904 = (name: string | undefined, comments: readonly string[]) =>
  /\b1904\b/.test(name ?? '') ||
  comments.some(line => /\b1904\b/.test(line) && /date|day|since|system|epoch/i.test(line));

type Among = Pick<TimeReading, 'format' | 'others' | 'pace'>;
type AmongNumbers = Among & { readonly format: NumericTime };

const units = ['s', 'ms', 'us', 'ns', 'min', 'h', 'd', 'day', 'sample'] as const;

const isNear = (a: number, b: number) => Math.abs(a / b - 1) <= rateSlack;

/**
 * The first reading, unless it makes a rate that no ECG has; where that is possible and not usual, units that make a usual
 * one are shown. Otherwise the one that makes a usual rate, a stated one before others; numbers that count up by 1 may as
 * well count samples, and are read so, since then the rate is asked for. A name stands against a rate that is only high.
 */
function amongReadings(
  first: NumericTime,
  byName: NumericTime | null,
  rowsPerUnit: number | null,
  stated: readonly number[],
  { isSerial, isWhole }: { isSerial: boolean; isWhole: boolean },
): AmongNumbers {
  const keep = (others: readonly NumericTime[] = []): AmongNumbers => ({ format: first, others });
  if (rowsPerUnit === null) return keep();
  const rateIn = (unit: NumericTime) => (unit === 'sample' ? Number.NaN : rowsPerUnit / secondsPer[unit]);
  const isStated = (unit: NumericTime) => stated.some(rate => isNear(rateIn(unit), rate));
  const counts = isNear(rowsPerUnit, 1);
  const rate = rateIn(first);
  const isPlausible = rate >= ecgHz.least && rate <= ecgHz.usualMost;
  if (first === 'sample' ? counts : isStated(first) || (isPlausible && isUsualRate(rate, rateSlack))) return keep();
  const usual = units.filter(unit => {
    if (unit === first || (unit === 'day' && !isSerial) || (unit === 'd' && isSerial)) return false;
    return unit === 'sample' ? counts : isUsualRate(rateIn(unit), rateSlack);
  });
  const fitting = usual.some(isStated) ? usual.filter(isStated) : usual;
  if (isPlausible) return keep(fitting);
  const [best] = fitting;
  if (best === undefined || (first === 'sample' && stated.length > 0 && !isStated(best))) return keep();
  // Where sample numbers leave out some, the rate is asked for all the same.
  if (first === 'sample' && isWhole && !isStated(best)) return keep(fitting);
  if (byName === first && rate > ecgHz.usualMost && rate <= ecgHz.most) return keep(fitting);
  const named = fitting.find(unit => unit === byName);
  if (named) return { format: named, others: [] };
  const format = fitting.includes('sample') ? 'sample' : best;
  return { format, others: [first, ...fitting.filter(unit => unit !== format)] };
}

const readWords: Readonly<Record<NumericTime, string>> = {
  s: 'in seconds',
  ms: 'in milliseconds',
  us: 'in microseconds',
  ns: 'in nanoseconds',
  min: 'in minutes',
  h: 'in hours',
  d: 'in days',
  day: 'in days since 1899-12-30',
  'day-1904': 'in days since 1904-01-01',
  sample: 'as sample numbers',
  'epoch-s': 'in seconds since 1970',
  'epoch-ms': 'in milliseconds since 1970',
  'epoch-us': 'in microseconds since 1970',
  'epoch-ns': 'in nanoseconds since 1970',
};

function unitDoubt(
  name: string,
  format: NumericTime,
  byName: NumericTime | null,
  others: readonly NumericTime[],
  rowsPerUnit: number,
): string {
  const says = (unit: NumericTime) => (unit === byName ? ', as its name says,' : '');
  const makes = (unit: NumericTime) => {
    if (unit === 'sample') return 'there would be gaps between all rows';
    return `${Number((rowsPerUnit / secondsPer[unit]).toPrecision(4))} Hz`;
  };
  const other = others.map(
    unit => `${readWords[unit]}${says(unit)} ${unit === 'sample' ? '' : 'it would be '}${makes(unit)}`,
  );
  const counts = format === byName ? ', as its name says' : ', as it counts up by 1';
  const why = format === 'sample' ? counts : `${says(format) || ','} which makes ${makes(format)}`;
  return `"${name}" is read ${readWords[format]}${why}; ${other.join(', ')}.`;
}

/** False for a doubt about a unit of time other than `format`, which it does not hold for any more. */
export function isAboutFormat(doubt: string, format: TimeFormat | null): boolean {
  const about = (Object.keys(readWords) as NumericTime[]).find(unit => doubt.includes(`" is read ${readWords[unit]},`));
  return about === undefined || about === format;
}

const usedRate = /(?:time stamps say|the stated|for a sampling rate of) (\S+) Hz(?:,? (?:which )?is used)?\.$/;

/** False for a doubt that says which rate is used, where it is another one. */
export function isAboutRate(doubt: string, rateHz: number | null): boolean {
  const [, used] = usedRate.exec(doubt) ?? [];
  return used === undefined || Number(used) === rateHz;
}

/** The rate by the times of the rows, else the stated one; null when there is neither and the person must say it. */
export function findRate(
  { rates, bare }: StatedRates,
  reading: TimeReading | null,
  mark: DecimalMark,
  slashes: SlashOrder,
  doubts: string[],
): number | null {
  const stated = rates.length === 1 ? rates[0]! : null;
  const pace = reading && reading.format !== 'sample' ? paceOf(reading, mark, slashes) : null;
  if (pace) {
    doubts.push(...paceDoubts(pace));
    if (stated !== null && !isNear(stated, pace.rateHz))
      doubts.push(`The file says ${stated} Hz; the time stamps say ${pace.rateHz} Hz, which is used.`);
    if (!hasEcgRate(pace.rateHz))
      doubts.push(`The time stamps say ${Number(pace.rateHz.toPrecision(4))} Hz: ${noEcgRate}`);
    return pace.rateHz;
  }
  if (reading && reading.format !== 'sample') doubts.push(noPaceDoubt(reading, stated));
  else if (rates.length === 0) doubts.push(`Nothing says the sampling rate: ${rateNeeded}`);
  else if (rates.length > 1)
    doubts.push(
      `The file states several sampling rates, ${rates.join(' and ')} Hz, and not which is the ECG’s: ${rateNeeded}`,
    );
  if (stated !== null && bare !== null) doubts.push(`"${bare}" is taken for a sampling rate of ${stated} Hz.`);
  return stated;
}

/** Rates in Hz that the times make in the units a person may choose among; empty where there is nothing to choose. */
export function ratesIn(reading: TimeReading | null, mark: DecimalMark): Partial<Record<TimeFormat, number>> {
  if (!reading || reading.others.length === 0) return {};
  const { format, cells, others } = reading;
  const rates = [format, ...others].flatMap((unit): [TimeFormat, number][] => {
    const pace = unit === 'sample' ? null : paceIn(unit, cells, mark);
    return pace ? [[unit, pace.rateHz]] : [];
  });
  return Object.fromEntries(rates);
}

function noPaceDoubt({ format, resolutionMs }: TimeReading, stated: number | null): string {
  const instead = stated === null ? rateNeeded : `the stated ${stated} Hz is used.`;
  if (!isSerialDate(format)) return `The time stamps give no sampling rate: ${instead}`;
  const step = `${Number((resolutionMs / 1000).toPrecision(3))} s`;
  return `The sampling rate is not computable, as the dates are written in steps of ${step}: ${instead}`;
}

/** How the rows come in time; null where that cannot be measured. */
function paceOf(reading: TimeReading, mark: DecimalMark, slashes: SlashOrder): Pace | null {
  const { pace, resolutionMs } = reading;
  return pace === undefined ? measurePace(momentsOf(reading, mark, slashes), resolutionMs / 1000) : pace;
}

function paceIn(format: TimeFormat, cells: readonly string[], mark: DecimalMark): Pace | null {
  return paceOf({ format, cells, resolutionMs: resolutionMs(cells, format, mark), others: [] }, mark, 'dmy');
}

/** Seconds of the rows; stamps with a zone are moments, and times of day run over midnight. */
function momentsOf({ cells, format }: TimeReading, mark: DecimalMark, slashes: SlashOrder): number[] {
  if (format !== 'iso' && format !== 'clock') {
    return cells.map(c => cellSeconds(c, format, mark, 1)).filter(t => !Number.isNaN(t));
  }
  let days = 0;
  let last = Number.NEGATIVE_INFINITY;
  return cells.flatMap(cell => {
    const stamp = stampOf(cell, slashes);
    if (!stamp) return [];
    if (format === 'clock' && stamp.seconds < last - 43_200) days += 86_400;
    last = stamp.seconds;
    return [stamp.seconds + days - (stamp.offsetMinutes ?? 0) * 60];
  });
}

function paceDoubts({ rateHz, rowsPerStamp, jitterSeconds, wanders, rateError, otherwiseHz }: Pace): string[] {
  const doubts: string[] = [];
  if (otherwiseHz !== null) {
    doubts.push(
      `Some time stamps are two steps apart, at regular distances: they are read as ${rateHz} Hz with rows left out; if their ` +
        `clock is coarse and none are, it is ${Number(otherwiseHz.toPrecision(6))} Hz: give the rate if you know it.`,
    );
  }
  if (rowsPerStamp > 1) {
    doubts.push(
      `About ${Math.round(rowsPerStamp)} rows share a time stamp. Counted from one new stamp to the next they run at ` +
        `${rateHz} Hz; the start and gaps are known to within ${Number((rowsPerStamp / rateHz).toPrecision(3))} s.`,
    );
  }
  if (jitterSeconds * rateHz > 0.05) {
    doubts.push(
      `The time stamps jitter by about ±${Number((jitterSeconds * 1000).toPrecision(2))} ms around steps of ` +
        `${Number((1000 / rateHz).toPrecision(4))} ms; the samples are taken as evenly spaced at ${rateHz} Hz.`,
    );
    if (wanders) {
      const percent = Number((200 * rateError).toPrecision(1));
      doubts.push(
        `The jitter adds up from row to row, so the rate is known to within ${percent} % only: give it if you know it.`,
      );
    }
  }
  return doubts;
}
