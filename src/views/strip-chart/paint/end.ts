import type { RowLayout, StripLayout } from '../layout';
import type { StripModel } from '../model';
import { type TimeScale, xOf } from '../time-scale';
import type { Palette } from './palette';
import type { DrawingSurface } from './surface';

/** Where the last of the recordings shown ends, seconds on the axis. */
export function axisEndSeconds({ recorders }: StripModel): number {
  return Math.max(...recorders.map(r => r.axis.toAxisSeconds(r.sampleCount / r.samplingRateHz)));
}

/** The part of a row's scale that lies before the end; null when the whole row lies beyond it. */
export function upTo(scale: TimeScale, endSeconds: number): TimeScale | null {
  if (scale.endSeconds <= endSeconds) return scale;
  const widthPx = xOf(scale, endSeconds) - scale.leftPx;
  // Less than a pixel is what is left when a view fitted to the recording is moved to whole pixels.
  return widthPx < 1 ? null : { ...scale, endSeconds, widthPx };
}

/** Paper and ledger end where the recording does: beyond lies the bare page. `shown` is what `upTo` gave. */
export function paintBeyond(
  surface: DrawingSurface,
  palette: Palette,
  layout: Pick<StripLayout, 'width'>,
  row: RowLayout,
  shown: TimeScale | null,
): void {
  const left = shown ? Math.ceil(shown.leftPx + shown.widthPx) : 0;
  if (layout.width - left < 1) return;
  surface.boxes([left, row.top, layout.width - left, row.height], palette.paper);
  if (shown)
    surface.lines([left, row.ruler.top, left, row.groups.at(-1)?.bottom ?? row.top], { colour: palette.inkSoft });
}
