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
  const pxPerSecond = view.pxPerMm * view.mmPerSecond;
  const rowSeconds = plotWidthPx / pxPerSecond;
  return rows.map(r => {
    const startSeconds = view.rowStarts?.[r.index] ?? view.startSeconds + r.index * rowSeconds;
    return timeScale(startSeconds, pxPerSecond, gutterPx, plotWidthPx, view.devicePixelRatio);
  });
}
