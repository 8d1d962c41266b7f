import { escapeXml, filledPath, path, short, svgMetadata, svgOfSize, text } from '../../../report/figures/svg';
import { type CachedBox, type DrawingSurface, linesOf, type Stroke, type TextStyle } from './surface';

/** Thinnest line in a picture: 0.2 mm on paper. */
const thinPx = 0.75;

/** Draws into SVG text, with nothing but presentation attributes. */
export class SvgSurface implements DrawingSurface {
  private readonly out: string[] = [];
  private clips = 0;

  boxes(rects: readonly number[], colour: string, opacity = 1): void {
    let d = '';
    for (let i = 0; i < rects.length; i += 4) {
      const [x, y, w, h] = [rects[i]!, rects[i + 1]!, rects[i + 2]!, rects[i + 3]!];
      d += `M${short(x)} ${short(y)}h${short(w)}v${short(h)}h${short(-w)}z`;
    }
    if (d) this.out.push(filledPath(d, colour, opacity));
  }

  lines(segments: readonly number[], stroke: Stroke): void {
    let d = '';
    for (let i = 0; i < segments.length; i += 4) {
      d += `M${short(segments[i]!)} ${short(segments[i + 1]!)}L${short(segments[i + 2]!)} ${short(segments[i + 3]!)}`;
    }
    this.stroke(d, stroke);
  }

  path(points: readonly number[], stroke: Stroke): void {
    this.stroke(connected(points), stroke);
  }

  shape(points: readonly number[], colour: string): void {
    this.out.push(filledPath(`${connected(points)}z`, colour));
  }

  text(x: number, y: number, words: string, style: TextStyle): void {
    for (const line of linesOf(words, style)) {
      const { anchor = 'start', size, colour, weight, italic = false, halo } = line;
      const look = { anchor, size, colour, bold: weight === 600, italic, ...(halo ? { halo } : {}) };
      this.out.push(text(x, y + line.dy, line.words, look));
    }
  }

  clipped(x: number, y: number, width: number, height: number, draw: () => void): void {
    const id = `clip-${++this.clips}`;
    const box = `x="${short(x)}" y="${short(y)}" width="${short(width)}" height="${short(height)}"`;
    this.out.push(`<clipPath id="${id}"><rect ${box}/></clipPath><g clip-path="url(#${id})">`);
    draw();
    this.out.push('</g>');
  }

  kept(_key: string, _still: readonly unknown[], { x, y }: CachedBox, draw: (surface: DrawingSurface) => void): void {
    this.out.push(`<g transform="translate(${short(x)} ${short(y)})">`);
    draw(this);
    this.out.push('</g>');
  }

  /** The picture at its true size on paper. */
  finish(widthPx: number, heightPx: number, pxPerMm: number, title: string, facts: unknown): string {
    return svgOfSize(
      widthPx,
      heightPx,
      pxPerMm,
      '',
      `<title>${escapeXml(title)}</title>${svgMetadata(facts)}${this.out.join('\n')}`,
    );
  }

  private stroke(d: string, stroke: Stroke): void {
    if (!d) return;
    const { colour, width = thinPx, dash, opacity } = stroke;
    const more = { ...(dash ? { dash: dash.join(' ') } : {}), ...(opacity === undefined ? {} : { opacity }) };
    this.out.push(path(d, { colour, width: Number(short(width)), ...more }));
  }
}

function connected(points: readonly number[]): string {
  let d = '';
  for (let i = 0; i < points.length; i += 2) d += `${i === 0 ? 'M' : 'L'}${short(points[i]!)} ${short(points[i + 1]!)}`;
  return d;
}
