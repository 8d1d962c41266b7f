/**
 * Figures as SVG text with presentation attributes only (a page's policy forbids inline styles). Everything is drawn in
 * one ink, told apart by shape, dash and pattern, so that it reads the same in grey and to colour-blind readers. The ink
 * is the colour of the text around the figure; a file of its own brings paper and ink along.
 */

/** CSS px in a mm: figures are laid out in px and sized in mm. */
export const pxPerMm = 96 / 25.4;
export const fontStack = 'system-ui, -apple-system, "Segoe UI", "DejaVu Sans", sans-serif';
const ink = '#16223c';
const paper = '#ffffff';

export interface Drawing {
  readonly widthPx: number;
  readonly heightPx: number;
  readonly body: string;
}

/** Names of a drawing's patterns carry the figure's id: many figures share one document. */
export function svgDocument(
  id: string,
  title: string,
  description: string,
  drawing: Drawing,
  standalone: boolean,
  facts?: unknown,
): string {
  const { widthPx, heightPx, body } = drawing;
  const names = ` font-size="11" aria-labelledby="${id}-title ${id}-desc"${standalone ? ` color="${ink}"` : ''}`;
  const words = `<title id="${id}-title">${escapeXml(title)}</title><desc id="${id}-desc">${escapeXml(description)}</desc>`;
  const sheet = standalone ? `<rect width="${short(widthPx)}" height="${short(heightPx)}" fill="${paper}"/>` : '';
  const metadata = facts === undefined ? '' : svgMetadata(facts);
  return svgOfSize(widthPx, heightPx, pxPerMm, names, `${words}${metadata}${sheet}${body}`);
}

/** An SVG at its true size on paper; `more` are further attributes, each after a blank. */
export function svgOfSize(widthPx: number, heightPx: number, perMm: number, more: string, content: string): string {
  const mm = (px: number) => `${short(px / perMm)}mm`;
  const size = `width="${mm(widthPx)}" height="${mm(heightPx)}" viewBox="0 0 ${short(widthPx)} ${short(heightPx)}"`;
  const font = `font-family="${escapeXml(fontStack)}"`;
  return `<svg xmlns="http://www.w3.org/2000/svg" ${size} ${font} role="img"${more}>${content}</svg>\n`;
}

/** What a picture was made from, for programs; nothing of it is drawn. */
export function svgMetadata(facts: unknown): string {
  return `<metadata>${escapeXml(JSON.stringify(facts))}</metadata>`;
}

/** The text of a picture's metadata; null where it has none. */
export function metadataText(svg: string): string | null {
  const found = /<metadata>([^<]*)<\/metadata>/.exec(svg)?.[1];
  return found?.replace(/&#(\d+);/g, (_, code: string) => String.fromCharCode(Number(code))) ?? null;
}

export function escapeXml(words: string): string {
  return words.replace(/[<>&"']/g, c => `&#${c.charCodeAt(0)};`);
}

/** Two decimals are 0.003 mm on paper. */
export function short(value: number): string {
  const hundredths = Math.round(value * 100);
  // Most values are tens to hundreds of px: their digits from whole numbers, which takes a third of the time.
  if (hundredths < 1000 || hundredths % 10 === 0) return String(hundredths / 100);
  const rest = hundredths % 100;
  return `${(hundredths - rest) / 100}.${rest < 10 ? '0' : ''}${rest}`;
}

export interface TextOptions {
  readonly anchor?: 'start' | 'middle' | 'end';
  readonly size?: number;
  readonly bold?: boolean;
  readonly turned?: boolean;
  readonly italic?: boolean;
  readonly colour?: string;
  /** Colour of a rim that keeps the text readable on lines. */
  readonly halo?: string;
}

export function text(x: number, y: number, words: string, options: TextOptions = {}): string {
  const { anchor = 'start', size, bold, turned, italic, colour = 'currentColor', halo } = options;
  const more = [
    anchor === 'start' ? '' : ` text-anchor="${anchor}"`,
    size ? ` font-size="${short(size)}"` : '',
    bold ? ' font-weight="600"' : '',
    italic ? ' font-style="italic"' : '',
    halo ? ` stroke="${halo}" stroke-width="3" stroke-linejoin="round" paint-order="stroke"` : '',
    turned ? ` transform="rotate(-90 ${short(x)} ${short(y)})"` : '',
  ].join('');
  return `<text x="${short(x)}" y="${short(y)}" fill="${colour}"${more}>${escapeXml(words)}</text>`;
}

export interface LineOptions {
  readonly width?: number;
  readonly dash?: string;
  readonly opacity?: number;
  readonly colour?: string;
}

export function path(d: string, { width = 1, dash, opacity, colour = 'currentColor' }: LineOptions = {}): string {
  const more = `${dash ? ` stroke-dasharray="${dash}"` : ''}${opacity === undefined ? '' : ` stroke-opacity="${opacity}"`}`;
  return `<path d="${d}" fill="none" stroke="${colour}" stroke-width="${width}" stroke-linejoin="round"${more}/>`;
}

export function filledPath(d: string, colour: string, opacity = 1): string {
  return `<path d="${d}" fill="${colour}"${opacity === 1 ? '' : ` fill-opacity="${opacity}"`}/>`;
}

export function line(x1: number, y1: number, x2: number, y2: number, options: LineOptions = {}): string {
  return path(`M${short(x1)} ${short(y1)}L${short(x2)} ${short(y2)}`, options);
}

export function box(
  x: number,
  y: number,
  width: number,
  height: number,
  fill = 'none',
  opacity = 1,
  outline = true,
): string {
  const stroke = outline ? ' stroke="currentColor" stroke-width="0.8"' : '';
  return `<rect x="${short(x)}" y="${short(y)}" width="${short(Math.max(0, width))}" height="${short(height)}" fill="${fill}"${opacity === 1 ? '' : ` fill-opacity="${opacity}"`}${stroke}/>`;
}

/** Shapes told apart in grey; the even ones are filled. */
export const markShapes = ['disc', 'ring', 'square', 'frame', 'triangle', 'cross', 'diamond', 'plus'] as const;
export type MarkShape = (typeof markShapes)[number];

export function shapeFor(index: number): MarkShape {
  return markShapes[index % markShapes.length]!;
}

export function mark(shape: MarkShape, x: number, y: number, r: number): string {
  const at = (dx: number, dy: number) => `${short(x + dx)} ${short(y + dy)}`;
  const full = 'fill="currentColor"';
  const open = 'fill="none" stroke="currentColor" stroke-width="0.9"';
  switch (shape) {
    case 'disc':
      return `<circle cx="${short(x)}" cy="${short(y)}" r="${short(r)}" ${full}/>`;
    case 'ring':
      return `<circle cx="${short(x)}" cy="${short(y)}" r="${short(r)}" ${open}/>`;
    case 'square':
      return `<path d="M${at(-r, -r)}L${at(r, -r)}L${at(r, r)}L${at(-r, r)}z" ${full}/>`;
    case 'frame':
      return `<path d="M${at(-r, -r)}L${at(r, -r)}L${at(r, r)}L${at(-r, r)}z" ${open}/>`;
    case 'triangle':
      return `<path d="M${at(0, -1.2 * r)}L${at(1.1 * r, 0.8 * r)}L${at(-1.1 * r, 0.8 * r)}z" ${full}/>`;
    case 'cross':
      return `<path d="M${at(-r, -r)}L${at(r, r)}M${at(-r, r)}L${at(r, -r)}" ${open}/>`;
    case 'diamond':
      return `<path d="M${at(0, -1.3 * r)}L${at(1.3 * r, 0)}L${at(0, 1.3 * r)}L${at(-1.3 * r, 0)}z" ${full}/>`;
    case 'plus':
      return `<path d="M${at(-1.2 * r, 0)}L${at(1.2 * r, 0)}M${at(0, -1.2 * r)}L${at(0, 1.2 * r)}" ${open}/>`;
  }
}

/** A key: shapes with their names, side by side, wrapped at `widthPx`. */
export function shapeKey(
  names: readonly string[],
  x: number,
  y: number,
  widthPx: number,
): { body: string; heightPx: number } {
  let body = '';
  let left = x;
  let top = y;
  for (const [i, name] of names.entries()) {
    const wide = 22 + textWidth(name);
    if (left > x && left + wide > x + widthPx) {
      left = x;
      top += 15;
    }
    body += mark(shapeFor(i), left + 5, top - 4, 3.2) + text(left + 13, top, name);
    left += wide;
  }
  return { body, heightPx: top - y + 15 };
}

/** About how wide words are at 11 px; there is nothing to measure with here. */
export function textWidth(words: string): number {
  return words.length * 6.1;
}

/** Round steps of 1, 2 or 5 times a power of ten, at most `most` of them in [low, high]. */
function ticks(low: number, high: number, most = 6): number[] {
  const span = high - low;
  if (!(span > 0)) return [low];
  const rough = span / most;
  const power = 10 ** Math.floor(Math.log10(rough));
  const step = [1, 2, 5, 10].map(m => m * power).find(s => span / s <= most)!;
  const out: number[] = [];
  for (let k = Math.ceil(low / step - 1e-9); k * step <= high + 1e-9 * span; k++)
    out.push(Number((k * step).toPrecision(12)));
  return out;
}

/** 1, 2 and 5 times powers of ten within [low, high]. */
function logTicks(low: number, high: number): number[] {
  const out: number[] = [];
  for (let power = Math.floor(Math.log10(low)); 10 ** power <= high; power++) {
    for (const m of [1, 2, 5])
      if (m * 10 ** power >= low * 0.999 && m * 10 ** power <= high * 1.001) out.push(m * 10 ** power);
  }
  return out.length > 7 ? out.filter(v => /^1/.test(v.toExponential())) : out;
}

export interface Axis {
  readonly at: (value: number) => number;
  readonly low: number;
  readonly high: number;
  readonly ticks: readonly number[];
}

/** An axis from one place to another. */
export interface LinearAxis extends Axis {
  readonly from: number;
  readonly to: number;
}

export function linearAxis(low: number, high: number, from: number, to: number, most = 6): LinearAxis {
  const span = high - low || 1;
  return { low, high, from, to, ticks: ticks(low, high, most), at: v => from + ((v - low) / span) * (to - from) };
}

/** Where values stand, those beyond the axis at its end: as `at` has it, without a call and an object for each. */
export function placesOn({ low, high, from, to }: LinearAxis, values: readonly number[]): Float64Array {
  const span = high - low || 1;
  const places = new Float64Array(values.length);
  for (let i = 0; i < places.length; i++) {
    places[i] = from + ((Math.max(low, Math.min(high, values[i]!)) - low) / span) * (to - from);
  }
  return places;
}

export function logAxis(low: number, high: number, from: number, to: number): Axis {
  const span = Math.log(high / low) || 1;
  return { low, high, ticks: logTicks(low, high), at: v => from + (Math.log(v / low) / span) * (to - from) };
}

/** Lowest and highest with some room around; null for nothing. */
export function axisRange(values: readonly number[], room = 0.06): readonly [number, number] | null {
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  for (const v of values) {
    if (v < low) low = v;
    if (v > high) high = v;
  }
  if (!(high >= low)) return null;
  const margin = (high - low || Math.abs(high) || 1) * room;
  return [low - margin, high + margin];
}

/** A number of a tick: no more places than it needs. */
export function tickLabel(value: number): string {
  const rounded = Number(value.toPrecision(6));
  return String(rounded).replace('-', '−');
}

/**
 * Frame, ticks and labels of a plot. `y` runs upwards: its `from` is the bottom. Without words for `x` its ticks have no
 * numbers either, as in a plot above another one on the same axis.
 */
export function frame(
  x: Axis,
  y: Axis,
  labels: { readonly x: string | null; readonly y: string; readonly title?: string },
): string {
  const left = x.at(x.low);
  const right = x.at(x.high);
  const bottom = y.at(y.low);
  const top = y.at(y.high);
  let body = path(`M${short(left)} ${short(top)}L${short(left)} ${short(bottom)}L${short(right)} ${short(bottom)}`, {
    width: 0.9,
  });
  for (const v of x.ticks) {
    body += line(x.at(v), bottom, x.at(v), bottom + 4, { width: 0.8 });
    if (labels.x !== null) body += text(x.at(v), bottom + 15, tickLabel(v), { anchor: 'middle', size: 10 });
  }
  for (const v of y.ticks) {
    body += line(left - 4, y.at(v), left, y.at(v), { width: 0.8 });
    body += text(left - 6, y.at(v) + 3.5, tickLabel(v), { anchor: 'end', size: 10 });
  }
  if (labels.x) body += text((left + right) / 2, bottom + 29, labels.x, { anchor: 'middle' });
  body += text(left - 37, (top + bottom) / 2, labels.y, { anchor: 'middle', turned: true });
  if (labels.title) body += text(left, top - 7, labels.title, { bold: true });
  return body;
}
