import { type StripLayout, stripLayout } from './layout';
import type { StripModel, StripView } from './model';
import { type TimeScale, timeScale } from './time-scale';

export interface Arrangement {
  readonly layout: StripLayout;
  readonly scales: readonly TimeScale[];
}

/** Places rows and time scales for a size in CSS pixels. */
export function arrange(model: StripModel, view: StripView, width: number, height: number): Arrangement {
  const layout = stripLayout(model.recorders, view, Math.max(1, width), Math.max(1, height));
  return { layout, scales: rowScales(layout, view) };
}

/** One time scale a row; each row goes on where the one above ends, unless the view says where each begins. */
export function rowScales({ gutterPx, plotWidthPx, rows }: StripLayout, view: StripView): TimeScale[] {
  const pxPerSec = view.pxPerMm * view.mmPerSecond;
  const rowSec = plotWidthPx / pxPerSec;
  return rows.map(r => {
    const startSec = view.rowStarts?.[r.index] ?? view.startSec + r.index * rowSec;
    return timeScale(startSec, pxPerSec, gutterPx, plotWidthPx, view.devicePixelRatio);
  });
}
