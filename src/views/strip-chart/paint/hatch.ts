/**
 * Fillings made of lines, so that screen and print share them. The slanted one is anchored to `originX`, a place in
 * time, and travels with the trace.
 */

/** 45 degree lines over a box, appended to `out` as x0, y0, x1, y1. */
export function slantedLines(
  out: number[],
  x: number,
  y: number,
  width: number,
  height: number,
  originX: number,
  spacing: number,
): void {
  const right = x + width;
  const bottom = y + height;
  // A line runs from (c, bottom) up to (c + height, y); c steps by the spacing from the origin.
  const first = Math.ceil((x - height - originX) / spacing);
  for (let c = originX + first * spacing; c < right; c += spacing) {
    const x0 = Math.max(x, c);
    const x1 = Math.min(right, c + height);
    if (x1 > x0) out.push(x0, bottom - (x0 - c), x1, bottom - (x1 - c));
  }
}

/** Level lines over a box. */
export function levelLines(out: number[], x: number, y: number, width: number, height: number, spacing: number): void {
  for (let at = y + spacing / 2; at < y + height; at += spacing) out.push(x, Math.round(at), x + width, Math.round(at));
}
