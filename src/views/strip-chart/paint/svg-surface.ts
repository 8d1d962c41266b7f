import { type CachedBox, type DrawingSurface, fontStack, type Stroke, type TextStyle } from './surface';

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
    if (d) this.out.push(`<path d="${d}" fill="${colour}"${opacity === 1 ? '' : ` fill-opacity="${opacity}"`}/>`);
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
    this.out.push(`<path d="${connected(points)}z" fill="${colour}"/>`);
  }

  text(x: number, y: number, words: string, style: TextStyle): void {
    const anchor = style.anchor && style.anchor !== 'start' ? ` text-anchor="${style.anchor}"` : '';
    const weight = style.weight ? ` font-weight="${style.weight}"` : '';
    const slant = style.italic ? ' font-style="italic"' : '';
    const halo = style.halo
      ? ` stroke="${style.halo}" stroke-width="3" stroke-linejoin="round" paint-order="stroke"`
      : '';
    const at = `x="${short(x)}" y="${short(y)}" font-size="${short(style.size)}" fill="${style.colour}"`;
    this.out.push(`<text ${at}${anchor}${weight}${slant}${halo}>${escapeXml(words)}</text>`);
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
  finish(widthPx: number, heightPx: number, pxPerMm: number, title: string): string {
    const mm = (px: number) => `${short(px / pxPerMm)}mm`;
    const size = `width="${mm(widthPx)}" height="${mm(heightPx)}" viewBox="0 0 ${short(widthPx)} ${short(heightPx)}"`;
    const font = `font-family="${escapeXml(fontStack)}"`;
    const head = `<svg xmlns="http://www.w3.org/2000/svg" ${size} ${font} role="img"><title>${escapeXml(title)}</title>`;
    return `${head}${this.out.join('\n')}</svg>\n`;
  }

  private stroke(d: string, stroke: Stroke): void {
    if (!d) return;
    const dash = stroke.dash ? ` stroke-dasharray="${stroke.dash.join(' ')}"` : '';
    const opacity = stroke.opacity === undefined ? '' : ` stroke-opacity="${stroke.opacity}"`;
    const width = short(stroke.width ?? thinPx);
    this.out.push(
      `<path d="${d}" fill="none" stroke="${stroke.colour}" stroke-width="${width}" stroke-linejoin="round"${dash}${opacity}/>`,
    );
  }
}

function connected(points: readonly number[]): string {
  let d = '';
  for (let i = 0; i < points.length; i += 2) d += `${i === 0 ? 'M' : 'L'}${short(points[i]!)} ${short(points[i + 1]!)}`;
  return d;
}

/** Two decimals are 0.003 mm on paper. */
function short(value: number): string {
  return String(Math.round(value * 100) / 100);
}

export function escapeXml(words: string): string {
  return words.replace(/[<>&"']/g, c => `&#${c.charCodeAt(0)};`);
}
