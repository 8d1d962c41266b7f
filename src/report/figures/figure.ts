import { type Cell, csvText } from '../../formats/csv/csv';
import { type Drawing, svgDocument } from './svg';

/** A table as people and programs read it; numbers stay numbers until they are printed. */
export interface DataTable {
  readonly head: readonly string[];
  readonly rows: readonly (readonly Cell[])[];
}

/** A figure with its words and the data it is drawn from. */
export interface Figure {
  /** Also the file's name. */
  readonly id: string;
  readonly title: string;
  /** What there is to see, for who cannot see it. */
  readonly description: string;
  readonly drawing: Drawing;
  readonly data: DataTable;
}

/** A figure without the data behind it. */
export type ShownFigure = Omit<Figure, 'data'>;

/** `standalone`: a file of its own, with paper and ink. */
export function figureSvg(figure: ShownFigure, standalone: boolean): string {
  return svgDocument(figure.id, figure.title, figure.description, figure.drawing, standalone);
}

export function tableCsv({ head, rows }: DataTable): string {
  return csvText(head, rows);
}
