/**
 * CSV as exported: RFC 4180, UTF-8 without a byte order mark, comma, point for decimals, lines ending in CR LF. A text
 * that a spreadsheet would take for a formula (it starts with = + - @, tab or CR) gets an apostrophe before it, as does
 * one that would be mistaken for such a guarded text; numbers stay numbers. Quotes also hold what readers of tables trim
 * or skip: blanks at the edges, and signs that begin a comment. An empty cell is a number that cannot be computed, or
 * nothing to say.
 */
export type Cell = string | number | boolean | null;

export function csvText(head: readonly string[], rows: Iterable<readonly Cell[]>): string {
  const lines = [head.map(csvCell).join(',')];
  for (const row of rows) lines.push(row.map(csvCell).join(','));
  return `${lines.join('\r\n')}\r\n`;
}

export function csvCell(cell: Cell): string {
  if (cell === null) return '';
  if (typeof cell === 'number') {
    if (!Number.isFinite(cell)) throw new RangeError(`a cell cannot hold ${cell}`);
    return String(cell);
  }
  if (typeof cell === 'boolean') return cell ? 'yes' : 'no';
  const text = guarded(cell);
  return /[",;\r\n]|^\s|\s$|^(#|%|\/\/)/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
}

function guarded(text: string): string {
  return /^'*[=+\-@\t\r]/.test(text) ? `'${text}` : text;
}

/** The text that `guarded` was given. */
export function unguarded(text: string): string {
  return /^'+[=+\-@\t\r]/.test(text) ? text.slice(1) : text;
}
