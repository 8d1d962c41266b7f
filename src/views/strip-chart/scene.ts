import { lowerBound, type Marks } from '../../core/marks/markset';
import type { RateRange } from './intervals';
import type { GroupLayout } from './layout';
import type { StripRecorder } from './model';
import type { Palette } from './paint/palette';
import type { DrawingSurface } from './paint/surface';
import { type TimeScale, xOf } from './time-scale';
import type { TraceWindow } from './trace/window';

/** One recorder in one row, with all that painting it needs. */
export interface StripScene {
  readonly surface: DrawingSurface;
  readonly palette: Palette;
  readonly recorder: StripRecorder;
  readonly group: GroupLayout;
  readonly scale: TimeScale;
  readonly windows: readonly TraceWindow[];
  readonly textScale: number;
  /** Range of the heart-rate line. */
  readonly rates: RateRange;
}

export function xOfSample(scene: Pick<StripScene, 'recorder' | 'scale'>, sample: number): number {
  const { recorder, scale } = scene;
  return xOf(scale, recorder.axis.toAxisSeconds(sample / recorder.samplingRateHz));
}

/** Samples at the row's two edges, half-open, not clipped to the recording. */
export function visibleSamples(scene: Pick<StripScene, 'recorder' | 'scale'>): [number, number] {
  const { recorder, scale } = scene;
  const rate = recorder.samplingRateHz;
  return [
    Math.floor(recorder.axis.fromAxisSeconds(scale.startSeconds) * rate),
    Math.ceil(recorder.axis.fromAxisSeconds(scale.endSeconds) * rate) + 1,
  ];
}

/** Indices `[from, to)` of the marks in view, with `extra` more on each side. */
export function visibleIndices(
  scene: Pick<StripScene, 'recorder' | 'scale'>,
  marks: Marks,
  extra = 0,
): [number, number] {
  const [start, end] = visibleSamples(scene);
  return [Math.max(0, lowerBound(marks, start) - extra), Math.min(marks.length, lowerBound(marks, end) + extra)];
}

/** Mean distance between marks in view, CSS pixels; how much can be written depends on it. */
export function pxPerBeat(scene: Pick<StripScene, 'recorder' | 'scale'>, marks: Marks): number {
  const [from, to] = visibleIndices(scene, marks);
  return scene.scale.widthPx / Math.max(1, to - from);
}
