/** A table for reading: text to the left, the columns named in `right` to the right, two spaces between. */
export function alignedTable(
  head: readonly string[],
  rows: readonly (readonly string[])[],
  left: ReadonlySet<number>,
): string {
  const widths = head.map((h, i) => Math.max(h.length, ...rows.map(r => (r[i] ?? '').length)));
  const line = (cells: readonly string[]) =>
    widths
      .map((w, i) => (left.has(i) ? (cells[i] ?? '').padEnd(w) : (cells[i] ?? '').padStart(w)))
      .join('  ')
      .trimEnd();
  return [line(head), ...rows.map(line)].join('\n');
}
