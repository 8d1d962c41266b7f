/** Minutes and seconds with a fraction, of whatever length: `1:02.345`, `75:10,5`, `01:02:345`. */
export const stopwatchPattern = /^\d{1,4}:[0-5]\d(?:[.,]\d+|:\d{3})$/;

/** The same, and with whole seconds: no hour stands before the minutes. */
const withoutHour = /^\d{1,4}:[0-5]\d(?:[.,]\d+|:\d{3})?$/;

/** Minutes and seconds with a fraction, or more hours than a day has. */
export const isNoTimeOfDay = (cell: string) =>
  stopwatchPattern.test(cell) || /^(2[5-9]|[3-9]\d|\d{3,}):[0-5]\d:[0-5]\d(?:[.,]\d+|:\d{3})?$/.test(cell);

/** That, and `m:ss`, which beats come too close for to be hours and minutes. */
export const isElapsed = (cell: string) => withoutHour.test(cell) || isNoTimeOfDay(cell);

const elapsed = /^(?:(\d+):(?=[0-5]\d:))?(\d+):([0-5]\d)(?:(?:[.,]|:(?=\d{3}$))(\d+))?$/;

/** Whether a time has a fraction of a second: behind a dot, a comma or, three digits, a colon. */
export const hasFraction = (cell: string) => fractionDigits(cell) > 0;

/** Digits of that fraction; 0 without one. */
export const fractionDigits = (cell: string) =>
  /:\d\d(?:[.,](\d+)|:(\d{3})(?!\d))/.exec(cell)?.slice(1).join('').length ?? 0;

/** Seconds of `m:ss` or `h:mm:ss` with any fraction, whatever the number of minutes or hours; NaN for anything else. */
export function elapsedSeconds(cell: string): number {
  const found = elapsed.exec(cell.trim());
  if (!found) return Number.NaN;
  const [, hours = '0', minutes, seconds, fraction = '0'] = found;
  return Number(hours) * 3600 + Number(minutes) * 60 + Number(`${seconds}.${fraction}`);
}

/** Whether nearly all of them are later than the one before, but for a clock whose minutes begin again at 0. */
export function riseAsElapsed(cells: readonly string[]): boolean {
  const seconds = cells.map(elapsedSeconds);
  const falls = seconds.filter((s, i) => i > 0 && s <= seconds[i - 1]! && s > seconds[i - 1]! - 1800).length;
  return falls <= 0.02 * seconds.length;
}

/** Whether the minutes of these are those of an hour, and none has an hour before it. */
export const areOfAnHour = (cells: readonly string[]) =>
  cells.every(c => withoutHour.test(c.trim()) && elapsedSeconds(c) < 3600);

/** Seconds of cells in order of time; where the minutes begin again at 0, an hour has passed. */
export function elapsedInOrder(cells: readonly string[], warnings: string[]): number[] {
  const seconds = cells.map(elapsedSeconds);
  if (!areOfAnHour(cells)) return seconds;
  let hours = 0;
  const counted = seconds.map((s, i) => {
    if (i > 0 && s < seconds[i - 1]! - 1800) hours++;
    return s + hours * 3600;
  });
  if (hours > 0) warnings.push('The minutes begin again at 0, as no hours are written: they are counted on.');
  return counted;
}
