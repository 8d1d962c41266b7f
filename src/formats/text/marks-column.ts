import { FormatError } from '../format-error';
import { areStamps, unitFromName } from './mark-units';
import { hasFraction } from './stopwatch';
import { cellKind, cellNumber, type TextTable } from './table';

/**
 * The column with the marks: the first whose name says so, else the first with times, else the first with values that is no
 * row number. Times with fractions are taken before RR intervals, which do not say where the first beat is.
 */
export function markColumn(file: string, table: TextTable): number {
  const cells = (c: number) =>
    table.rows.map(r => r[c] ?? '').filter(v => cellKind(v, table.decimalMark) !== 'missing');
  const columns = Array.from({ length: table.columnCount }, (_, c) => c);
  const times = columns.find(c => areTimes(cells(c), table));
  if (times !== undefined) checkCommas(file, table, times);
  const named = table.header?.findIndex(h => unitFromName(h) !== null) ?? -1;
  const isFine = times !== undefined && cells(times).some(hasFraction);
  const areIntervals = named >= 0 && unitFromName(table.header![named]!)!.unit.startsWith('rr');
  if (named >= 0 && !(areIntervals && isFine)) return named;
  if (times !== undefined) return times;
  const valued = columns.filter(c => cells(c).every(v => cellKind(v, table.decimalMark) !== 'text'));
  return valued.find(c => valued.length === 1 || !countsRows(cells(c), table)) ?? valued[0] ?? 0;
}

/** Times of day, of a stopwatch, or with a date; dates alone are none. */
const areTimes = (cells: readonly string[], { decimalMark }: TextTable) =>
  areStamps(cells, decimalMark) && cells.some(v => v.includes(':'));

/** Each number is the one before and 1: no beats come so. */
function countsRows(cells: readonly string[], { decimalMark }: TextTable): boolean {
  const values = cells.map(v => cellNumber(v, decimalMark));
  return values.length > 2 && values.every((v, i) => i === 0 || v === values[i - 1]! + 1);
}

/** Throws where the comma behind a time separates nothing: digits of one length behind it, some with a 0 before them. */
function checkCommas(file: string, { separator, rows, firstDataLine }: TextTable, times: number): void {
  if (separator !== ',') return;
  const digits = rows.map(r => r[times + 1] ?? '');
  const isWhole = rows.every(r => /:\d\d$/.test(r[times] ?? ''));
  const isFraction =
    digits.every(d => /^\d+$/.test(d) && d.length === digits[0]!.length) && digits.some(d => /^0\d/.test(d));
  if (!isWhole || !isFraction) return;
  const written = `${rows[0]![times]},${digits[0]}`;
  throw new FormatError(
    file,
    'marks',
    `line ${firstDataLine}`,
    `the comma separates columns and stands in the times as well: "${written}".`,
    'Export the list with semicolons or tabs between its columns, or with a dot in its times.',
  );
}
