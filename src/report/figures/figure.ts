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

/** Widths of a journal's one and two columns, 85 and 180 mm, in CSS pixels. */
export type FigureWidth = 'one column' | 'two columns';
export const columnsWidthPx: Readonly<Record<FigureWidth, number>> = { 'one column': 321, 'two columns': 680 };

/** The id of a figure drawn again for one column. */
export const idFor = (id: string, columns: FigureWidth): string => (columns === 'one column' ? `${id}-85mm` : id);

/** Where a plot's axes lie, in px. */
export interface PanelPlace {
  readonly left: number;
  readonly right: number;
  readonly top: number;
}

/** Plots of one size, from `top` on: side by side in two columns, one above the other in one. */
export function panelPlaces(columns: FigureWidth, count: number, heightPx: number, top: number) {
  const across = columns === 'one column' ? 1 : 2;
  const width = columnsWidthPx[columns] / across;
  const places = Array.from({ length: count }, (_, i): PanelPlace => {
    const column = i % across;
    return {
      left: column * width + 46,
      right: (column + 1) * width - 14,
      top: top + Math.floor(i / across) * heightPx,
    };
  });
  return { places, bottom: top + Math.ceil(count / across) * heightPx };
}

/** A figure without the data behind it. */
export type ShownFigure = Omit<Figure, 'data'>;

/** `standalone`: a file of its own, with paper and ink; `facts` say what it was made from. */
export function figureSvg(figure: ShownFigure, standalone: boolean, facts?: unknown): string {
  return svgDocument(figure.id, figure.title, figure.description, figure.drawing, standalone, facts);
}
