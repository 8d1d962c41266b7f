import { basename } from 'node:path';
import { csvParseRows } from 'd3-dsv';
import { amount } from '../core/amount';
import { type Marks, marksFrom } from '../core/marks/markset';
import { normalise } from '../core/marks/spans';
import type { Segment } from '../core/recording/recording';
import { type Span, span } from '../core/units';
import { unguarded } from '../formats/csv/csv';
import { FormatError } from '../formats/format-error';
import { readText } from './files';

/** Small CSV tables in samples: marks (`sample`), spans (`start,end`), segments (`name,start,end`). */

interface Row {
  readonly cells: readonly string[];
  readonly line: number;
}

class Table {
  readonly rows: readonly Row[];
  private readonly columns: ReadonlyMap<string, number>;

  /** `columns` are taken in this order when there is no header. A header is a first row whose numbers are not numbers. */
  constructor(path: string, columns: readonly string[], numberColumn: string) {
    this.file = basename(path);
    const all = numberedRows(readText(path));
    // Of a list that failed to be written nothing must be computed; one without entries has its header.
    if (all.length === 0)
      this.fail(1, 'there is nothing in the file.', `A list without entries is the line ${columns.join(',')}.`);
    const first = all[0]?.cells ?? [];
    const names = first.map(c => c.trim().toLowerCase());
    const hasHeader = !/^[-+]?[\d.]/.test(first[columns.indexOf(numberColumn)]?.trim() ?? '');
    const order = hasHeader ? names : columns;
    if (!hasHeader && first.length > columns.length) {
      const problem = `there are ${first.length} columns and no header.`;
      this.fail(1, problem, `Name the columns ${columns.join(',')}, or convert the list first.`);
    }
    this.columns = new Map(columns.map(c => [c, order.indexOf(c)]));
    this.rows = hasHeader ? all.slice(1) : all;
    const missing = columns.find(c => this.columns.get(c) === -1);
    if (missing !== undefined) {
      this.fail(1, `the header has no column "${missing}".`, `Name the columns ${columns.join(',')}.`);
    }
  }

  readonly file: string;

  text(row: Row, column: string): string {
    return unguarded((row.cells[this.columns.get(column)!] ?? '').trim());
  }

  index(row: Row, column: string): number {
    const text = this.text(row, column);
    const value = Number(text);
    if (!/^\d+(\.0*)?$/.test(text) || value > 0x7fffffff) {
      const found = text === '' ? 'nothing' : `"${text.slice(0, 40)}"`;
      this.fail(row.line, `${column} is ${found}, not a whole sample index.`, 'Give 0-based sample indices.');
    }
    return value;
  }

  fail(line: number, problem: string, remedy: string): never {
    throw new FormatError(this.file, 'CSV', `line ${line}`, problem, remedy);
  }
}

/** Rows with their line numbers; a byte order mark, blank lines and lines starting with # are left out. */
function numberedRows(text: string): Row[] {
  const rows: Row[] = [];
  let line = 1;
  for (const cells of csvParseRows(text.replace(/^\uFEFF/, ''))) {
    const blank = cells.length === 1 && cells[0]!.trim() === '';
    if (!blank && !cells[0]!.startsWith('#')) rows.push({ cells, line });
    line += 1 + cells.reduce((n, c) => n + (c.match(/\n/g)?.length ?? 0), 0);
  }
  return rows;
}

export function readMarkList(path: string, note: (text: string) => void): Marks {
  const table = new Table(path, ['sample'], 'sample');
  const values = table.rows.map(row => table.index(row, 'sample'));
  const marks = marksFrom(values);
  const repeats = values.length - marks.length;
  if (repeats > 0)
    note(`${table.file}: ${amount(repeats, 'repeated sample is', 'repeated samples are')} counted once.`);
  return marks;
}

export function readSpans(path: string): Span[] {
  const table = new Table(path, ['start', 'end'], 'start');
  return normalise(table.rows.map(row => spanOf(table, row)));
}

export function readSegmentList(path: string): Segment[] {
  const table = new Table(path, ['name', 'start', 'end'], 'start');
  const segments = table.rows.map(row => ({ name: table.text(row, 'name'), ...spanOf(table, row) }));
  if (segments.length === 0) table.fail(1, 'there is no segment in it.', 'Leave the file out to score the whole.');
  return segments.sort((a, b) => a.start - b.start);
}

function spanOf(table: Table, row: Row): Span {
  const start = table.index(row, 'start');
  const end = table.index(row, 'end');
  if (end <= start)
    table.fail(row.line, `it ends at ${end}, not after its start ${start}.`, 'Give start,end with end after start.');
  return span(start, end);
}
