import { type Cell, csvText } from '../../formats/csv/csv';

/** What a column holds, and in what unit; the codebook prints both. */
const kinds = {
  text: ['text', ''],
  flag: ['yes or no', ''],
  count: ['whole number', 'count'],
  number: ['number', ''],
  percent: ['number', '%'],
  points: ['number', 'percentage points'],
  share: ['number', '0 to 1'],
  seconds: ['number', 's'],
  ms: ['number', 'ms'],
  hz: ['number', 'Hz'],
  ppm: ['number', 'ppm'],
  msSquaredPerHz: ['number', 'ms²/Hz'],
  /** The table has a column of units, or its measure names one. */
  asMeasure: ['number', 'that of the measure'],
} as const;
export type Kind = keyof typeof kinds;

/** A column of a CSV: its name, what it holds, where the cell comes from, and what it means in one sentence. */
export type Column<Row> = readonly [name: string, kind: Kind, cell: (row: Row) => Cell, meaning: string];

/** A table as people and programs read it; numbers stay numbers until they are printed. */
export interface DataTable {
  readonly head: readonly string[];
  readonly rows: readonly (readonly Cell[])[];
  /** A line of the codebook for each column of `head`, in the same order. */
  readonly columns: readonly ColumnFacts[];
}

export interface ColumnFacts {
  readonly name: string;
  readonly meaning: string;
  readonly unit: string;
  readonly type: string;
  readonly source: string;
}

/** `source` says what the table's rows are computed from. */
export function dataTable<Row>(source: string, columns: readonly Column<Row>[], rows: Iterable<Row>): DataTable {
  return {
    head: columns.map(([name]) => name),
    rows: Array.from(rows, row => columns.map(([, , cell]) => cell(row))),
    columns: columns.map(([name, kind, , meaning]) => {
      const [type, unit] = kinds[kind];
      return { name, meaning, unit, type, source };
    }),
  };
}

export function tableCsv({ head, rows }: DataTable): string {
  return csvText(head, rows);
}
