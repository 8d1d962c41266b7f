import { rulerLabelPx } from '../grid';
import type { Band } from '../layout';
import { clockWords, rulerStep, type TimeScale, wallClock, xOf } from '../time-scale';
import type { Palette } from './palette';
import type { DrawingSurface } from './surface';

/** The time ruler above a row, or below it with the ticks hanging down. Times count from the first recorder's start. */
export function paintRuler(
  surface: DrawingSurface,
  palette: Palette,
  band: Band,
  scale: TimeScale,
  textScale: number,
  side: 'above' | 'below' = 'above',
): void {
  const { labelSeconds, ticks } = rulerStep(scale.pxPerSecond, rulerLabelPx * textScale);
  const step = labelSeconds / ticks;
  const edge = side === 'above' ? band.top + band.height : band.top;
  const inwards = side === 'above' ? -1 : 1;
  const textY = band.top + band.height - 5;
  const label = { colour: palette.inkSoft, size: 11 * textScale };
  const lines: number[] = [scale.leftPx, edge + inwards * 0.5, scale.leftPx + scale.widthPx, edge + inwards * 0.5];
  const right = scale.leftPx + scale.widthPx;
  for (let k = Math.ceil(scale.startSeconds / step - 1e-9); k * step < scale.endSeconds; k++) {
    const x = xOf(scale, k * step);
    const labelled = k % ticks === 0;
    lines.push(x, edge + inwards * (labelled ? 7 : 3), x, edge);
    if (labelled && x < right - 26) {
      surface.text(x + 3, textY, clockWords(k * step, labelSeconds), label);
    }
  }
  surface.lines(lines, { colour: palette.inkSoft });
}

/** Wall time at the row's left edge, in the gutter beside the ruler. */
export function paintRowTime(
  surface: DrawingSurface,
  palette: Palette,
  band: Band,
  scale: TimeScale,
  startedAt: string | null,
  textScale: number,
): void {
  const clock = wallClock(startedAt, scale.startSeconds);
  const words = clock ?? clockWords(scale.startSeconds, scale.endSeconds - scale.startSeconds > 60 ? 1 : 0.1);
  const style = { colour: palette.ink, size: 11 * textScale, weight: 600 as const };
  surface.text(8, band.top + band.height - 5, words, style);
}
