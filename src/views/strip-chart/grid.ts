import type { Palette } from './paint/palette';
import { rulerStep, type TimeScale } from './time-scale';

/** Spacing of the paper's lines in CSS pixels; `fine` of 0 leaves the fine lines out. */
export interface GridSpacing {
  readonly fineX: number;
  readonly boldX: number;
  readonly fineY: number;
  readonly boldY: number;
}

/** Below this paper speed single waves cannot be judged, and a 1 mm grid would measure nothing. */
const readableMmPerSecond = 10;

/**
 * The ECG paper's grid: 1 mm and 5 mm, 40 ms and 200 ms at 25 mm/s (common practice). At slow paper speeds the upright
 * lines follow the time ruler instead, and the fine ones go.
 */
export function gridSpacing(mmPerSecond: number, pxPerMm: number): GridSpacing {
  if (mmPerSecond >= readableMmPerSecond)
    return { fineX: pxPerMm, boldX: 5 * pxPerMm, fineY: pxPerMm, boldY: 5 * pxPerMm };
  const pxPerSecond = mmPerSecond * pxPerMm;
  return {
    fineX: 0,
    boldX: rulerStep(pxPerSecond, rulerLabelPx).labelSeconds * pxPerSecond,
    fineY: 0,
    boldY: 5 * pxPerMm,
  };
}

export const rulerLabelPx = 74;

/** How far the grid must shift left so that a bold line lies on axis second 0, CSS pixels in `[0, boldX)`. */
export function gridShift(scale: TimeScale, boldX: number): number {
  const start = scale.startSeconds * scale.pxPerSecond;
  return start - Math.floor(start / boldX) * boldX;
}

/** Positions of lines at `spacing`, device pixels, from `origin` outwards over `[0, length)`. */
export function linePositions(origin: number, spacing: number, length: number, devicePixelRatio: number): number[] {
  if (spacing <= 0) return [];
  const out: number[] = [];
  const first = Math.ceil(-origin / spacing);
  for (let k = first; origin + k * spacing < length; k++)
    out.push(Math.round((origin + k * spacing) * devicePixelRatio));
  return out;
}

/** The paper under one trace, kept off the screen. Drawn once per size and scale; a pan only copies another part. */
export class GridSheet {
  private readonly canvas = document.createElement('canvas');
  private key = '';

  draw(width: number, height: number, baseY: number, spacing: GridSpacing, palette: Palette, ratio: number): void {
    const key = [width, height, baseY, ...Object.values(spacing), palette.paper, palette.gridFine, ratio].join();
    if (key === this.key) return;
    this.key = key;
    const wide = width + Math.ceil(spacing.boldX);
    const canvas = this.canvas;
    canvas.width = Math.round(wide * ratio);
    canvas.height = Math.round(height * ratio);
    const c = canvas.getContext('2d', { alpha: false })!;
    c.fillStyle = palette.paper;
    c.fillRect(0, 0, canvas.width, canvas.height);
    const rule = (colour: string, stepX: number, stepY: number) => {
      c.fillStyle = colour;
      for (const x of linePositions(0, stepX, wide, ratio)) c.fillRect(x, 0, 1, canvas.height);
      for (const y of linePositions(baseY, stepY, height, ratio)) c.fillRect(0, y, canvas.width, 1);
    };
    rule(palette.gridFine, spacing.fineX, spacing.fineY);
    rule(palette.gridBold, spacing.boldX, spacing.boldY);
  }

  /** Lays the sheet on `context` with its corner at `left`, `top`, moved left by `shift`; all in CSS pixels. */
  lay(context: CanvasRenderingContext2D, left: number, top: number, width: number, shift: number, ratio: number): void {
    const { height } = this.canvas;
    const at = Math.round(shift * ratio);
    const wide = Math.min(Math.round(width * ratio), this.canvas.width - at);
    if (wide <= 0 || height === 0) return;
    context.drawImage(
      this.canvas,
      at,
      0,
      wide,
      height,
      Math.round(left * ratio),
      Math.round(top * ratio),
      wide,
      height,
    );
  }
}
