import { stampPattern } from './stamp';

export type DecimalMark = '.' | ',';

/** Sign between groups of three digits, as in `1,500` or `1'500`; '' when there is none. ' ' stands for any blank. */
export type GroupMark = '' | ',' | '.' | "'" | ' ';

/** How numbers are written in a file. */
export interface NumberStyle {
  readonly decimalMark: DecimalMark;
  readonly groupMark: GroupMark;
}

const numeric = /^[+-]?\d[\d.,'’ \u00a0\u202f\u2009]*(?:e[+-]?\d+)?$|^[+-]?[.,]\d+(?:e[+-]?\d+)?$/i;
const blanksOrTicks =
  /^[+-]?\d{1,3}(?:(['’])\d{3}(?:\1\d{3})*|[ \u00a0\u202f\u2009]\d{3}(?:[ \u00a0\u202f\u2009]\d{3})*)(?:[.,]\d+)?$/;

/** Digits before and after the only `mark` of a cell, when these could be a group: 1 to 3 digits, no leading 0, and 3. */
function groupLike(cell: string, mark: ',' | '.'): boolean {
  return (mark === ',' ? /^[+-]?[1-9]\d{0,2},\d{3}$/ : /^[+-]?[1-9]\d{0,2}\.\d{3}$/).test(cell);
}

const inGroups = {
  ',': /^[+-]?[1-9]\d{0,2}(,\d{3})+(\.\d*)?$/,
  '.': /^[+-]?[1-9]\d{0,2}(\.\d{3})+(,\d*)?$/,
} as const;

interface Tally {
  /** As the sign between groups: certainly, or possibly nothing else. */
  certainGroups: number;
  /** As the decimal mark, certainly. */
  certainDecimals: number;
  /** `1,500`: either. */
  either: number;
}

function tallyOf(cells: readonly string[], mark: ',' | '.'): Tally {
  const other = mark === ',' ? '.' : ',';
  const use: Tally = { certainGroups: 0, certainDecimals: 0, either: 0 };
  for (const cell of cells) {
    const first = cell.indexOf(mark);
    if (first < 0) continue;
    const last = cell.lastIndexOf(mark);
    const otherAt = cell.lastIndexOf(other);
    if (first !== last || otherAt > last) use.certainGroups += inGroups[mark].test(cell) ? 1 : 0;
    else if (otherAt >= 0 || !groupLike(cell, mark)) use.certainDecimals++;
    else use.either++;
  }
  return use;
}

/**
 * Works out decimal mark and group mark from the cells of a file. `1,500` alone could be either: where other numbers of
 * the file have the mark in another place it is a decimal mark; where only numbers from 1000 on have it, it is between
 * groups, unless a column rises only with it as decimal mark; else the person is asked. `separates` is a sign that cannot stand unquoted in a cell.
 */
export function numberStyle(columns: readonly (readonly string[])[], separates: string, doubts: string[]): NumberStyle {
  const numbers = columns.flat().filter(c => numeric.test(c) && !stampPattern.test(c));
  const style = (decimalMark: DecimalMark, groupMark: GroupMark): NumberStyle => ({ decimalMark, groupMark });
  const spaced = numbers.find(c => blanksOrTicks.test(c));
  const [comma, dot] = [tallyOf(numbers, ','), tallyOf(numbers, '.')];
  if (spaced !== undefined) {
    const decimal = comma.certainDecimals + comma.either > dot.certainDecimals + dot.either ? ',' : '.';
    return style(decimal, /['’]/.test(spaced) ? "'" : ' ');
  }
  if (comma.certainGroups > 0 && dot.certainGroups === 0) return style('.', ',');
  if (dot.certainGroups > 0 && comma.certainGroups === 0) return style(',', '.');
  if (comma.certainDecimals > 0 || dot.certainDecimals > 0) {
    return settled(comma, dot, separates, numbers, doubts);
  }
  if (comma.either === 0 && dot.either === 0) return style('.', '');
  return eitherWay(columns, comma.either > dot.either ? ',' : '.', doubts);
}

/** One of the marks is certainly decimal; the other then stands between groups, if it stands anywhere. */
function settled(
  comma: Tally,
  dot: Tally,
  separates: string,
  numbers: readonly string[],
  doubts: string[],
): NumberStyle {
  const commaWins =
    comma.certainDecimals > dot.certainDecimals ||
    (comma.certainDecimals > 0 && separates !== ',' && dot.certainDecimals === 0);
  const decimalMark: DecimalMark = commaWins ? ',' : '.';
  const other = commaWins ? dot : comma;
  if (other.either === 0) return { decimalMark, groupMark: '' };
  const example = numbers.find(c => groupLike(c, commaWins ? '.' : ','));
  doubts.push(`"${example}" is read with the ${commaWins ? 'dot' : 'comma'} between groups of three digits.`);
  return { decimalMark, groupMark: commaWins ? '.' : ',' };
}

/** Every number with the mark has it before its last three digits. */
function eitherWay(columns: readonly (readonly string[])[], mark: ',' | '.', doubts: string[]): NumberStyle {
  const name = mark === ',' ? 'comma' : 'dot';
  const example = columns.flat().find(c => groupLike(c, mark))!;
  const plain = example.replace(mark, '');
  const fraction = example.replace(mark, '.');
  if (onlyLargeOnes(columns, mark) && !risesAsFractionsOnly(columns, mark)) {
    doubts.push(`Only numbers from 1000 on have a ${name}, so "${example}" is read as ${plain}, not as ${fraction}.`);
    return { decimalMark: mark === ',' ? '.' : ',', groupMark: mark };
  }
  doubts.push(
    `"${example}" is read as ${fraction}; if the ${name} stands between groups of three digits, it is ${plain}.`,
  );
  return { decimalMark: mark, groupMark: '' };
}

/** Whether a column is a list of times, `2,649` before `7`, which rises with the mark read as decimal and not otherwise. */
function risesAsFractionsOnly(columns: readonly (readonly string[])[], mark: ',' | '.'): boolean {
  return columns.some(cells => {
    const numbers = cells.filter(c => numeric.test(c));
    const rises = (decimal: '' | '.') =>
      numbers.every(
        (c, i) => i === 0 || Number(c.replace(mark, decimal)) > Number(numbers[i - 1]!.replace(mark, decimal)),
      );
    return numbers.some(c => groupLike(c, mark)) && rises('.') && !rises('');
  });
}

/** Times with three decimals each: whole numbers in another column show nothing about their mark. */
function risesInThousandths(cells: readonly string[], mark: ',' | '.'): boolean {
  const numbers = cells.filter(c => numeric.test(c));
  const value = (cell: string) => Number(cell.replace(mark, '.'));
  return (
    numbers.length > 2 && numbers.every((c, i) => groupLike(c, mark) && (i === 0 || value(c) > value(numbers[i - 1]!)))
  );
}

/** Whether there are numbers without the mark, all of them below 1000; other columns that only rise (times, counters) say nothing. */
function onlyLargeOnes(columns: readonly (readonly string[])[], mark: ',' | '.'): boolean {
  const bare = columns
    .map(cells => ({
      marked: cells.some(c => groupLike(c, mark)),
      plain: cells.filter(c => /^[+-]?\d+$/.test(c)),
    }))
    .filter(
      ({ marked, plain }) =>
        marked || plain.length < 3 || plain.some((c, i) => i > 0 && Number(c) <= Number(plain[i - 1])),
    )
    .flatMap(({ plain }) => plain);
  return (
    !columns.some(cells => risesInThousandths(cells, mark)) &&
    bare.length > 0 &&
    bare.every(c => /^[+-]?\d{1,3}$/.test(c))
  );
}

/** A number without the marks between its groups; other text as it is. */
export function withoutGroups(cell: string, group: GroupMark): string {
  if (group === '' || !/\d/.test(cell)) return cell;
  if (group === "'") return cell.replace(/(\d)['’](?=\d{3})/g, '$1');
  if (group === ' ') return cell.replace(/(\d)[ \u00a0\u202f\u2009](?=\d{3}(?:\D|$))/g, '$1');
  const sign = group === '.' ? '\\.' : ',';
  const grouped = new RegExp(`^([+-]?\\d{1,3})((?:${sign}\\d{3})+)(?=\\D|$)`);
  return cell.replace(grouped, (_, head: string, rest: string) => head + rest.replaceAll(group, ''));
}
