import { type NoteTaker, noteTaker } from '../numbers';

/** A printed table. The first `rowHeads` cells of a row are headings; an empty one repeats the one above. */
export interface ReportTable {
  readonly id: string;
  readonly caption: string;
  readonly head: readonly string[];
  readonly rows: readonly (readonly string[])[];
  readonly rowHeads: number;
  readonly notes: readonly string[];
}

/** A printed column: its head, and the cell of a row; a cell without a number puts its reason in the notes. */
export type PrintedColumn<Row> = readonly [head: string, cell: (row: Row, note: NoteTaker) => string];

interface TableWords {
  /** Without `table-`, which is put before it. */
  readonly id: string;
  readonly caption: string;
  /** 1 when left out. */
  readonly rowHeads?: number;
  readonly notes?: readonly string[];
}

/** Collects the reasons of its cells in its notes. */
export function table<Row>(
  { id, caption, rowHeads = 1, notes = [] }: TableWords,
  columns: readonly PrintedColumn<Row>[],
  rows: readonly Row[],
): ReportTable {
  const taker = noteTaker();
  const made = rows.map(row => columns.map(([, cell]) => cell(row, taker.note)));
  const head = columns.map(([name]) => name);
  return { id: `table-${id}`, caption, head, rowHeads, rows: made, notes: [...notes, ...taker.notes()] };
}

const activityName = (activity: string | null) => activity ?? 'all activities';

export const printedRecorder: PrintedColumn<{ readonly recorder: string }> = ['recorder', r => r.recorder];
export const activityColumn: PrintedColumn<{ readonly activity: string | null }> = [
  'activity',
  r => activityName(r.activity),
];
