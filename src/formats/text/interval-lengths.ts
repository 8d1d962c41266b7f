import type { NumberStyle } from './numbers';
import { cellNumber } from './table';

/** Common practice: no RR interval of a person who moves about is shorter or longer, in s. */
const shortestS = 0.2;
const longestS = 3;

export const isIntervalUnit = (unit: string) => unit === 'rr-s' || unit === 'rr-ms';

/** Whether all cells are RR intervals of a length that there is; a 0 is none, and says nothing of how the others are written. */
export function areIntervalLengths(cells: readonly string[], unit: string, { decimalMark }: NumberStyle): boolean {
  if (!isIntervalUnit(unit)) return false;
  const seconds = cells.map(c => cellNumber(c, decimalMark) / (unit === 'rr-ms' ? 1000 : 1)).filter(v => v !== 0);
  return seconds.length > 0 && seconds.every(v => v >= shortestS && v <= longestS);
}

/** The other way to read `1,001`: with the comma between groups of digits where it was a decimal mark, and the reverse. */
export function otherStyle({ decimalMark, groupMark }: NumberStyle): NumberStyle | null {
  if (groupMark === ',' || groupMark === '.') return { decimalMark: groupMark, groupMark: '' };
  return groupMark === '' ? { decimalMark: decimalMark === ',' ? '.' : ',', groupMark: decimalMark } : null;
}

interface Reading {
  readonly table: NumberStyle;
  /** As written but for the marks between groups of digits. */
  readonly cells: readonly string[];
  readonly unit: string;
}

/** That and why the second of two readings of the same cells was taken. */
export function styleWords(first: Reading, second: Reading): string {
  const value = ({ table, cells }: Reading, i: number) => cellNumber(cells[i]!, table.decimalMark);
  const at = second.cells.findIndex((_, i) => value(first, i) !== value(second, i));
  const [one, other] = [first.cells[at] ?? '', second.cells[at] ?? ''];
  const written = one.length > other.length ? one : other;
  const read = `${value(second, at)} ${second.unit === 'rr-ms' ? 'ms' : 's'}`;
  const range = `${shortestS} to ${longestS} s`;
  return `"${written}" is read as ${read}: read otherwise, not every number would be a plausible RR interval (${range}).`;
}
