/**
 * The few strokes the strip is drawn with, so that the screen and the vector picture share every shape. Coordinates are
 * CSS pixels; each call is one path, so callers collect their shapes and draw them together.
 */
export interface Pen {
  /** Filled boxes: x, y, width, height each. */
  boxes(rects: readonly number[], colour: string, opacity?: number): void;
  /** Straight lines: x0, y0, x1, y1 each. */
  lines(segments: readonly number[], stroke: Stroke): void;
  /** A connected line: x, y each. */
  path(points: readonly number[], stroke: Stroke): void;
  /** A filled shape: x, y each. */
  shape(points: readonly number[], colour: string): void;
  text(x: number, y: number, words: string, style: TextStyle): void;
  clipped(x: number, y: number, width: number, height: number, draw: () => void): void;
}

export interface Stroke {
  readonly colour: string;
  /** CSS pixels; leave out for the thinnest line the surface has. */
  readonly width?: number;
  readonly dash?: readonly number[];
  readonly opacity?: number;
}

export interface TextStyle {
  readonly colour: string;
  readonly size: number;
  readonly anchor?: 'start' | 'middle' | 'end';
  readonly weight?: 400 | 600;
  readonly italic?: boolean;
  /** Colour of a halo that keeps words apart from lines below them. */
  readonly halo?: string;
}

export const fontStack = 'system-ui, -apple-system, "Segoe UI", "DejaVu Sans", sans-serif';

const anchors = { start: 'left', middle: 'center', end: 'right' } as const;

export class CanvasPen implements Pen {
  #font = '';

  constructor(
    private readonly context: CanvasRenderingContext2D,
    readonly devicePixelRatio: number,
  ) {}

  boxes(rects: readonly number[], colour: string, opacity = 1): void {
    if (rects.length === 0) return;
    const { context: c, devicePixelRatio: r } = this;
    c.fillStyle = colour;
    c.globalAlpha = opacity;
    for (let i = 0; i < rects.length; i += 4) {
      const x = Math.round(rects[i]! * r);
      const y = Math.round(rects[i + 1]! * r);
      const w = Math.max(1, Math.round(rects[i + 2]! * r));
      const h = Math.max(1, Math.round(rects[i + 3]! * r));
      c.fillRect(x, y, w, h);
    }
    c.globalAlpha = 1;
  }

  lines(segments: readonly number[], stroke: Stroke): void {
    if (segments.length === 0) return;
    const { context: c, devicePixelRatio: r } = this;
    const shift = this.#begin(stroke);
    const snap = (v: number) => Math.round(v * r - shift) + shift;
    for (let i = 0; i < segments.length; i += 4) {
      let x0 = segments[i]! * r;
      let y0 = segments[i + 1]! * r;
      let x1 = segments[i + 2]! * r;
      let y1 = segments[i + 3]! * r;
      if (x0 === x1) x0 = x1 = snap(segments[i]!);
      else if (y0 === y1) y0 = y1 = snap(segments[i + 1]!);
      c.moveTo(x0, y0);
      c.lineTo(x1, y1);
    }
    this.#end(stroke);
  }

  path(points: readonly number[], stroke: Stroke): void {
    const { context: c, devicePixelRatio: r } = this;
    this.#begin(stroke);
    for (let i = 0; i < points.length; i += 2) {
      if (i === 0) c.moveTo(points[i]! * r, points[i + 1]! * r);
      else c.lineTo(points[i]! * r, points[i + 1]! * r);
    }
    this.#end(stroke);
  }

  shape(points: readonly number[], colour: string): void {
    const { context: c, devicePixelRatio: r } = this;
    c.fillStyle = colour;
    c.beginPath();
    for (let i = 0; i < points.length; i += 2) c.lineTo(points[i]! * r, points[i + 1]! * r);
    c.closePath();
    c.fill();
  }

  text(x: number, y: number, words: string, style: TextStyle): void {
    const { context: c, devicePixelRatio: r } = this;
    const font = `${style.italic ? 'italic ' : ''}${style.weight ?? 400} ${style.size * r}px ${fontStack}`;
    if (font !== this.#font) c.font = this.#font = font;
    c.textAlign = anchors[style.anchor ?? 'start'];
    if (style.halo) {
      c.strokeStyle = style.halo;
      c.lineWidth = 3 * r;
      c.lineJoin = 'round';
      c.strokeText(words, x * r, y * r);
    }
    c.fillStyle = style.colour;
    c.fillText(words, x * r, y * r);
  }

  clipped(x: number, y: number, width: number, height: number, draw: () => void): void {
    const { context: c, devicePixelRatio: r } = this;
    c.save();
    c.beginPath();
    c.rect(Math.round(x * r), Math.round(y * r), Math.round(width * r), Math.round(height * r));
    c.clip();
    draw();
    c.restore();
    this.#font = '';
  }

  /** Sets the stroke up; gives the offset that puts the line's edges on whole device pixels. */
  #begin(stroke: Stroke): number {
    const { context: c, devicePixelRatio: r } = this;
    const width = stroke.width === undefined ? 1 : Math.max(1, Math.round(stroke.width * r));
    c.strokeStyle = stroke.colour;
    c.lineWidth = width;
    c.globalAlpha = stroke.opacity ?? 1;
    if (stroke.dash) c.setLineDash(stroke.dash.map(d => d * r));
    c.beginPath();
    return width % 2 === 1 ? 0.5 : 0;
  }

  #end(stroke: Stroke): void {
    this.context.stroke();
    if (stroke.dash) this.context.setLineDash([]);
    this.context.globalAlpha = 1;
  }
}
