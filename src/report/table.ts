import { type NoteTaker, noteTaker } from './numbers';

/** A printed table. The first `rowHeads` cells of a row are headings; an empty one repeats the one above. */
export interface ReportTable {
  readonly id: string;
  readonly caption: string;
  readonly head: readonly string[];
  readonly rows: readonly (readonly string[])[];
  readonly rowHeads: number;
  readonly notes: readonly string[];
}

type Rows = (note: NoteTaker) => readonly (readonly string[])[];

/** Collects the reasons of its cells in its notes. */
export function table(
  id: string,
  caption: string,
  head: readonly string[],
  rowHeads: number,
  rows: Rows,
  notes: readonly string[] = [],
): ReportTable {
  const taker = noteTaker();
  const made = rows(taker.note);
  return { id: `table-${id}`, caption, head, rowHeads, rows: made, notes: [...notes, ...taker.notes()] };
}

export const activityName = (activity: string | null) => activity ?? 'all activities';
