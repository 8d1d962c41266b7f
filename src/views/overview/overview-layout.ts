import type { Band } from '../strip-chart/layout';

/** The rows of the map, from the top: names, heart rate, corrections, coverage, time. */
export interface OverviewLayout {
  readonly gutterPx: number;
  readonly plotWidthPx: number;
  readonly width: number;
  readonly height: number;
  readonly segments: Band;
  readonly tachogram: Band;
  readonly corrections: Band;
  readonly coverage: Band;
  readonly ruler: Band;
}

export type OverviewRow = 'segments' | 'tachogram' | 'corrections' | 'coverage' | 'ruler';

const gutterAtUsualText = 124;

export function overviewLayout(width: number, height: number, textScale: number): OverviewLayout {
  const by = (v: number) => Math.round(v * textScale);
  const fixed = { segments: by(19), corrections: by(20), coverage: by(14), ruler: by(16) };
  const rest = height - fixed.segments - fixed.corrections - fixed.coverage - fixed.ruler;
  let top = 0;
  const next = (h: number): Band => {
    const band = { top, height: h };
    top += h;
    return band;
  };
  const gutterPx = Math.min(by(gutterAtUsualText), Math.floor(width / 4));
  return {
    gutterPx,
    plotWidthPx: Math.max(1, width - gutterPx - 1),
    width,
    height,
    segments: next(fixed.segments),
    tachogram: next(Math.max(12, rest)),
    corrections: next(fixed.corrections),
    coverage: next(fixed.coverage),
    ruler: next(fixed.ruler),
  };
}

export function rowAt(layout: OverviewLayout, y: number): OverviewRow {
  if (y < layout.tachogram.top) return 'segments';
  if (y < layout.corrections.top) return 'tachogram';
  if (y < layout.coverage.top) return 'corrections';
  return y < layout.ruler.top ? 'coverage' : 'ruler';
}

/** Left and right of the frame of the visible window, at least `minPx` wide so that it can be grabbed. */
export function framePx(
  layout: OverviewLayout,
  durationSeconds: number,
  window: { readonly startSeconds: number; readonly endSeconds: number },
  minPx = 8,
): { left: number; right: number } {
  const at = (sec: number) =>
    layout.gutterPx + (Math.min(durationSeconds, Math.max(0, sec)) / durationSeconds) * layout.plotWidthPx;
  const left = at(window.startSeconds);
  const right = at(window.endSeconds);
  const lack = Math.max(0, minPx - (right - left)) / 2;
  return { left: left - lack, right: right + lack };
}

/** Second of the recording under an x, clipped to the recording. */
export function overviewSecondsAt(layout: OverviewLayout, durationSeconds: number, x: number): number {
  return Math.min(1, Math.max(0, (x - layout.gutterPx) / layout.plotWidthPx)) * durationSeconds;
}
