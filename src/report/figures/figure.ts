import type { DataTable } from '../csv/column';
import { type Drawing, svgDocument } from './svg';

/** A figure with its words and the data it is drawn from. */
export interface Figure {
  /** Also the file's name. */
  readonly id: string;
  readonly title: string;
  /** What each line and mark stands for, under the title in print. */
  readonly legend: string;
  /** What there is to see, for who cannot see it. */
  readonly description: string;
  readonly drawing: Drawing;
  readonly data: DataTable;
}

/** A figure without the data behind it. */
export type ShownFigure = Omit<Figure, 'data'>;

/** `standalone`: a file of its own, with paper and ink; `facts` say what it was made from. */
export function figureSvg(figure: ShownFigure, standalone: boolean, facts?: unknown): string {
  return svgDocument(figure.id, figure.title, figure.description, figure.drawing, standalone, facts);
}
