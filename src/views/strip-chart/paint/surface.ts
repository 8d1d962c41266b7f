import { fontStack } from '../../../report/figures/svg';
import { bitmapOf, type Picture, type Pictures } from '../pictures';

/**
 * The few strokes the strip is drawn with, so that the screen and the vector picture share every shape. Coordinates are
 * CSS pixels; each call is one path, so callers collect their shapes and draw them together.
 */
export interface DrawingSurface {
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
  /** Lays a picture whose corner is at `box`; `draw` counts from that corner and depends on `still` alone. */
  kept(key: string, still: readonly unknown[], box: CachedBox, draw: (surface: DrawingSurface) => void): void;
}

export interface CachedBox {
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
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
  /** Of what stands after a line break in the words; `dy` is how far below the first line, CSS pixels. */
  readonly second?: Pick<TextStyle, 'colour' | 'size'> & { readonly dy: number };
}

/** The lines of words with what their style says of each, and how far below the first they stand. */
export function linesOf(
  words: string,
  style: TextStyle,
): (TextStyle & { readonly words: string; readonly dy: number })[] {
  const { second, ...first } = style;
  const at = words.indexOf('\n');
  if (!second || at < 0) return [{ ...first, words, dy: 0 }];
  const [upper, lower] = [words.slice(0, at), words.slice(at + 1)];
  return [
    { ...first, words: upper, dy: 0 },
    { ...first, ...second, words: lower },
  ];
}

/** Room above and below the base line in a picture of words, times the font size. */
const wordsAbove = 1.1;
const wordsBelow = 0.5;

export class CanvasSurface implements DrawingSurface {
  /** Of the words written last: a frame writes dozens in the same few styles. */
  private style: TextStyle | null = null;
  private ofStyle: Map<string, Picture> = new Map();

  constructor(
    private readonly context: CanvasRenderingContext2D | OffscreenCanvasRenderingContext2D,
    readonly devicePixelRatio: number,
    private readonly pictures: Pictures,
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
    const shift = this.begin(stroke);
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
    this.end(stroke);
  }

  path(points: readonly number[], stroke: Stroke): void {
    const { context: c, devicePixelRatio: r } = this;
    this.begin(stroke);
    for (let i = 0; i < points.length; i += 2) {
      if (i === 0) c.moveTo(points[i]! * r, points[i + 1]! * r);
      else c.lineTo(points[i]! * r, points[i + 1]! * r);
    }
    this.end(stroke);
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
    const r = this.devicePixelRatio;
    if (style !== this.style) {
      const { size, colour, anchor, weight, italic, halo, second: s } = style;
      const below = s && `${s.size}/${s.colour}/${s.dy}`;
      this.ofStyle = this.pictures.ofStyle(`${size}/${colour}/${anchor}/${weight}/${italic}/${halo}/${r}/${below}`);
      this.style = style;
    }
    let picture = this.ofStyle.get(words);
    if (!picture) {
      picture = pictureOfWords(words, style, r);
      this.pictures.addWords(this.ofStyle, words, picture);
    }
    this.context.drawImage(picture.bitmap, Math.round(x * r) + picture.dx, Math.round(y * r) + picture.dy);
  }

  clipped(x: number, y: number, width: number, height: number, draw: () => void): void {
    const { context: c, devicePixelRatio: r } = this;
    c.save();
    c.beginPath();
    c.rect(Math.round(x * r), Math.round(y * r), Math.round(width * r), Math.round(height * r));
    c.clip();
    draw();
    c.restore();
  }

  kept(key: string, still: readonly unknown[], box: CachedBox, draw: (surface: DrawingSurface) => void): void {
    const { context, devicePixelRatio: r, pictures } = this;
    const { bitmap } = pictures.of(key, [...still, r, box.width, box.height], () => ({
      bitmap: bitmapOf(box.width * r, box.height * r, c => draw(new CanvasSurface(c, r, pictures))),
      dx: 0,
      dy: 0,
    }));
    context.drawImage(bitmap, Math.round(box.x * r), Math.round(box.y * r));
  }

  /** Sets the stroke up; gives the offset that puts the line's edges on whole device pixels. */
  private begin(stroke: Stroke): number {
    const { context: c, devicePixelRatio: r } = this;
    const width = stroke.width === undefined ? 1 : Math.max(1, Math.round(stroke.width * r));
    c.strokeStyle = stroke.colour;
    c.lineWidth = width;
    c.globalAlpha = stroke.opacity ?? 1;
    if (stroke.dash) c.setLineDash(stroke.dash.map(d => d * r));
    c.beginPath();
    return width % 2 === 1 ? 0.5 : 0;
  }

  private end(stroke: Stroke): void {
    this.context.stroke();
    if (stroke.dash) this.context.setLineDash([]);
    this.context.globalAlpha = 1;
  }
}

function pictureOfWords(words: string, style: TextStyle, ratio: number): Picture {
  const edge = style.halo ? 2 * ratio : 1;
  const lines = linesOf(words, style).map(line => {
    const font = `${line.italic ? 'italic ' : ''}${line.weight ?? 400} ${line.size * ratio}px ${fontStack}`;
    return { ...line, font, width: widthOfWords(line.words, font), y: Math.round(line.dy * ratio) };
  });
  const width = Math.max(...lines.map(l => l.width));
  const last = lines.at(-1)!;
  const above = Math.ceil(style.size * ratio * wordsAbove + edge);
  const share = { start: 0, middle: 0.5, end: 1 }[style.anchor ?? 'start'];
  const bitmap = bitmapOf(width + 2 * edge, above + last.y + last.size * ratio * wordsBelow + edge, c => {
    for (const line of lines) {
      const x = edge + share * (width - line.width);
      c.font = line.font;
      if (style.halo) {
        c.strokeStyle = style.halo;
        c.lineWidth = 3 * ratio;
        c.lineJoin = 'round';
        c.strokeText(line.words, x, above + line.y);
      }
      c.fillStyle = line.colour;
      c.fillText(line.words, x, above + line.y);
    }
  });
  return { bitmap, dx: -Math.round(share * width + edge), dy: -above };
}

let measuring: OffscreenCanvasRenderingContext2D | null = null;

function widthOfWords(words: string, font: string): number {
  measuring ??= new OffscreenCanvas(1, 1).getContext('2d')!;
  measuring.font = font;
  return measuring.measureText(words).width;
}
