import type { Band } from '../layout';
import { type TraceWindow, yOf } from './window';

/** Where a trace leaves its row. */
interface Leaving {
  /** CSS pixels, at the wave's furthest point. */
  readonly x: number;
  readonly edge: 'top' | 'bottom';
}

/** Signs nearer than this would run into one another. */
const apartPx = 14;

/** Places at which the trace of a window runs over the edges of its band, from left to right. */
export function leavingIn(window: TraceWindow, band: Band): Leaving[] {
  const out: Leaving[] = [];
  const bottom = band.top + band.height;
  let worst = 0;
  for (let i = 0; i < window.count; i++) {
    const over = Math.max(band.top - yOf(window.gain, window.max[i]!), yOf(window.gain, window.min[i]!) - bottom);
    if (!(over > 0)) continue;
    const x = window.firstX + i * window.stepX;
    const edge = yOf(window.gain, window.max[i]!) < band.top ? 'top' : 'bottom';
    const last = out.at(-1);
    if (!last || last.edge !== edge || x - last.x > apartPx) {
      out.push({ x, edge });
      worst = over;
    } else if (over > worst) {
      out[out.length - 1] = { x, edge };
      worst = over;
    }
  }
  return out;
}

/** How much of the room above or below its reference line a trace takes, whichever is more; over 1 it leaves the row. */
export function roomTaken(window: TraceWindow, band: Band): number {
  const { gain, count, min, max } = window;
  let highest = 0;
  let lowest = 0;
  for (let i = 0; i < count; i++) {
    if (max[i]! - gain.baseMv > highest) highest = max[i]! - gain.baseMv;
    if (gain.baseMv - min[i]! > lowest) lowest = gain.baseMv - min[i]!;
  }
  const above = (highest * gain.pxPerMv) / Math.max(1, gain.baseY - band.top);
  const below = (lowest * gain.pxPerMv) / Math.max(1, band.top + band.height - gain.baseY);
  return Math.max(above, below);
}
