import { type Column, type ColumnFacts, type DataTable, dataTable } from './column';

interface Line extends ColumnFacts {
  readonly file: string;
}

const columns: readonly Column<Line>[] = [
  ['file', 'text', l => l.file, 'path of the CSV file'],
  ['column', 'text', l => l.name, 'name of the column in the head of the file'],
  ['meaning', 'text', l => l.meaning, 'what a cell of the column says'],
  ['unit', 'text', l => l.unit, 'unit of the numbers; empty where there is none'],
  ['type', 'text', l => l.type, 'text, yes or no, number or whole number; an empty cell has no value'],
  ['source', 'text', l => l.source, 'what the table is computed from'],
];

const source = 'column lists from which the CSV files are written';

/** A line for every column of the files, its own included; from the very lists that the files are written from. */
export function codebook(files: readonly (readonly [path: string, table: DataTable])[]): DataTable {
  const own: readonly [string, DataTable] = ['codebook.csv', dataTable(source, columns, [])];
  const lines = [...files, own].flatMap(([file, table]) => table.columns.map((facts): Line => ({ file, ...facts })));
  return dataTable(source, columns, lines);
}
