import { stopwatchPattern } from './stopwatch';

/** Which number of a date written with slashes is the day: `14/03/2026` or `03/14/2026`. Other signs put the day first. */
export type SlashOrder = 'dmy' | 'mdy';

const date = String.raw`(?:\d{4}([-/.])\d{1,2}\1\d{1,2}|\d{1,2}([-/.])\d{1,2}\2\d{4})`;
const time = String.raw`\d{1,2}:\d\d(?::\d\d(?:[.,]\d+|:\d{3})?)?(?: ?[ap]\.?m\.?)?(?: ?(?:z|utc|gmt|[+-]\d\d(?::?\d\d)?))?`;

/** Hours of three or four digits: a time since the start of a long recording. */
const manyHours = String.raw`\d{3,4}:[0-5]\d:[0-5]\d(?:[.,]\d+|:\d{3})?`;

/** A cell that is a date, a date with its time, a time of day, or a time since a start. */
export const stampPattern = new RegExp(
  `^(?:${date}(?:[T ]+${time})?|${time}|${manyHours}|${stopwatchPattern.source.slice(1, -1)})$`,
  'i',
);

/** The same with a date in it. */
export const datedPattern = /^(\d{4}[-/.]\d|\d{1,2}[-/.]\d{1,2}[-/.]\d{4})/;

const daysInMonth = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];

/**
 * Reads dates and times from ASCII bytes: ISO 8601 with `-`, `/` or `.`, the day first with any of these, the month
 * first with `/`; times of 24 or 12 hours; a zone at the end; without date and zone, hours and minutes with seconds beyond a
 * day, and minutes and seconds with a fraction, as of a stopwatch. A fraction stands behind a dot, a comma or, with three digits, a colon. Nothing may be left over. One reader
 * for a whole column, so that no row costs an object.
 */
export class StampReader {
  /** Minutes east of UTC that the last stamp named; null when it named no zone. */
  offsetMinutes: number | null = null;

  private bytes: Uint8Array = new Uint8Array(0);
  private at = 0;
  private to = 0;
  private value = 0;
  private width = 0;

  constructor(private readonly slashes: SlashOrder = 'dmy') {}

  /** Seconds of the wall clock as written (since 1970 with a date, else since midnight); NaN when it is no stamp. */
  read(bytes: Uint8Array, from: number, to: number): number {
    this.bytes = bytes;
    this.at = from;
    this.to = to;
    this.offsetMinutes = null;
    this.digits();
    if (this.width === 0) return Number.NaN;
    if (this.sign() === 0x3a) return this.end(this.time(true));
    const day = this.date();
    if (Number.isNaN(day) || this.at === to) return day;
    if (this.sign() !== 0x54 && this.sign() !== 0x74 && this.sign() !== 0x20) return Number.NaN;
    this.at++;
    this.blanks();
    this.digits();
    return this.end(day + this.time(false));
  }

  private end(seconds: number): number {
    return this.at === this.to ? seconds : Number.NaN;
  }

  private sign(): number {
    return this.at < this.to ? this.bytes[this.at]! : -1;
  }

  private digits(): void {
    const from = this.at;
    let value = 0;
    for (let d = this.sign() - 48; d >= 0 && d <= 9; d = this.sign() - 48) {
      value = value * 10 + d;
      this.at++;
    }
    this.value = value;
    this.width = this.at - from;
  }

  private blanks(): void {
    while (this.sign() === 0x20) this.at++;
  }

  /** The first number is read already. */
  private date(): number {
    const [first, firstWidth] = [this.value, this.width];
    const mark = this.sign();
    if (mark !== 0x2d && mark !== 0x2f && mark !== 0x2e) return Number.NaN;
    this.at++;
    this.digits();
    const second = this.value;
    if (this.width < 1 || this.width > 2 || this.sign() !== mark) return Number.NaN;
    this.at++;
    this.digits();
    if (firstWidth === 4) return this.width >= 1 && this.width <= 2 ? dayOf(first, second, this.value) : Number.NaN;
    if (this.width !== 4 || firstWidth > 2) return Number.NaN;
    const monthFirst = mark === 0x2f && this.slashes === 'mdy';
    return monthFirst ? dayOf(this.value, first, second) : dayOf(this.value, second, first);
  }

  /** The hour, or the minutes of a stopwatch, are read already. */
  private time(mayBeStopwatch: boolean): number {
    const [hour, hourWidth] = [this.value, this.width];
    if (hourWidth < 1 || hourWidth > 4 || this.sign() !== 0x3a) return Number.NaN;
    this.at++;
    this.digits();
    const [minute, minuteWidth] = [this.value, this.width];
    if (minuteWidth !== 2 || minute > 59) return Number.NaN;
    const mark = this.sign();
    if (mayBeStopwatch && (mark === 0x2e || mark === 0x2c)) return hour * 60 + minute + this.fraction();
    let second = 0;
    if (mark === 0x3a) {
      this.at++;
      this.digits();
      if (mayBeStopwatch && this.width === 3) return hour * 60 + minute + this.value / 1000;
      if (this.width !== 2 || this.value > 60) return Number.NaN;
      second = this.value + this.fraction();
    }
    const isElapsed = mayBeStopwatch && mark === 0x3a && this.at === this.to;
    if (isElapsed) return hour * 3600 + minute * 60 + second;
    if (hourWidth > 2) return Number.NaN;
    const hours = this.twelve(hour);
    this.zone();
    return hours > 24 ? Number.NaN : hours * 3600 + minute * 60 + second;
  }

  private fraction(): number {
    const mark = this.sign();
    if (mark !== 0x2e && mark !== 0x2c && mark !== 0x3a) return 0;
    this.at++;
    this.digits();
    return mark === 0x3a && this.width !== 3 ? Number.NaN : this.value / 10 ** this.width;
  }

  /** Hour of the day; one with AM or PM behind it counts from 1 to 12. */
  private twelve(hour: number): number {
    const before = this.at;
    this.blanks();
    const half = this.sign() | 0x20;
    if (half !== 0x61 && half !== 0x70) {
      this.at = before;
      return hour;
    }
    this.at++;
    if (this.sign() === 0x2e) this.at++;
    if ((this.sign() | 0x20) !== 0x6d) return Number.NaN;
    this.at++;
    if (this.sign() === 0x2e) this.at++;
    if (hour < 1 || hour > 12) return Number.NaN;
    return (hour % 12) + (half === 0x70 ? 12 : 0);
  }

  private zone(): void {
    const before = this.at;
    this.blanks();
    const letter = this.sign() | 0x20;
    if (this.sign() === 0x2b || this.sign() === 0x2d) this.offset(this.sign() === 0x2d ? -1 : 1);
    else if (letter === 0x7a) this.named(1);
    else if (letter === 0x75 || letter === 0x67) this.named(3);
    else this.at = before;
  }

  private offset(direction: number): void {
    this.at++;
    this.digits();
    let minutes = this.width === 2 ? this.value * 60 : Math.floor(this.value / 100) * 60 + (this.value % 100);
    const compact = this.width === 4;
    if (this.width !== 2 && !compact) this.at = -1;
    else if (!compact && this.sign() === 0x3a) {
      this.at++;
      this.digits();
      if (this.width === 2) minutes += this.value;
      else this.at = -1;
    }
    this.offsetMinutes = direction * minutes;
  }

  /** Z, UTC or GMT. */
  private named(length: number): void {
    const text = String.fromCharCode(...this.bytes.subarray(this.at, Math.min(this.to, this.at + length)));
    if (!/^(z|utc|gmt)$/i.test(text)) return;
    this.at += length;
    this.offsetMinutes = 0;
  }
}

/** Seconds from 1970 to a day; NaN when there is no such day. */
function dayOf(year: number, month: number, day: number): number {
  if (year < 1900 || year > 9998 || month < 1 || month > 12 || day < 1) return Number.NaN;
  const leap = month === 2 && year % 4 === 0 && (year % 100 !== 0 || year % 400 === 0) ? 1 : 0;
  return day > daysInMonth[month - 1]! + leap ? Number.NaN : Date.UTC(year, month - 1, day) / 1000;
}

const encoder = new TextEncoder();

/** One cell as wall seconds and zone; null when it is no stamp. */
export function stampOf(
  cell: string,
  slashes: SlashOrder = 'dmy',
): { seconds: number; offsetMinutes: number | null } | null {
  const bytes = encoder.encode(cell);
  const reader = new StampReader(slashes);
  const seconds = reader.read(bytes, 0, bytes.length);
  return Number.isNaN(seconds) ? null : { seconds, offsetMinutes: reader.offsetMinutes };
}

/** Day or month first in dates with slashes, from all of them; 'unclear' when no number is above 12. Null without such dates. */
export function slashOrder(cells: readonly string[]): SlashOrder | 'unclear' | null {
  let found = false;
  for (const cell of cells) {
    const parts = /^(\d{1,2})\/(\d{1,2})\/\d{4}/.exec(cell);
    if (!parts) continue;
    found = true;
    if (Number(parts[1]) > 12) return 'dmy';
    if (Number(parts[2]) > 12) return 'mdy';
  }
  return found ? 'unclear' : null;
}
