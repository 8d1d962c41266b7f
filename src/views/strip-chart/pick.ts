import { nearest } from '../../core/marks/markset';
import type { GroupLayout, StripLayout } from './layout';
import type { LaneName, Picked, StripModel, StripRecorder } from './model';
import { xOfSample } from './scene';
import type { TimeScale } from './time-scale';
import { sampleAt } from './trace/window';

/**
 * Marks within this many CSS pixels of the pointer are meant. source: WCAG 2.2, success criterion 2.5.8: a target for a
 * coarse pointer is at least 24 px wide; a fingertip covers more.
 */
const reachPx = { mouse: 9, pen: 12, touch: 22 } as const;
export type PointerKind = keyof typeof reachPx;

/** What lies under a point of the chart, CSS pixels from its top left. Null where there is no row. */
export function pickAt(
  model: StripModel,
  layout: StripLayout,
  scales: readonly TimeScale[],
  x: number,
  y: number,
  pointer: PointerKind = 'mouse',
): Picked | null {
  const row = layout.rows.findLast(r => y >= r.top) ?? layout.rows[0];
  if (!row) return null;
  const scale = scales[row.index];
  const group = row.groups.findLast(g => y >= g.top) ?? row.groups[0];
  const recorder = group && model.recorders[group.recorderIndex];
  if (!scale || !group || !recorder) return null;
  const lane = laneAt(group, y);
  const unclipped = sampleAt(scale, recorder.axis, recorder.samplingRateHz, x);
  return {
    recorderId: recorder.id,
    rowIndex: row.index,
    sample: Math.min(recorder.sampleCount - 1, Math.max(0, unclipped)),
    lane,
    nearMark: markNear(recorder, scale, lane, unclipped, x, reachPx[pointer]),
  };
}

export function laneAt(group: GroupLayout, y: number): LaneName {
  if (y < group.detected.top) return 'trace';
  if (y < group.reviewed.top) return 'detected';
  if (y < group.interval.top) return 'reviewed';
  if (y < group.unreadable.top) return 'interval';
  return 'unreadable';
}

function markNear(
  recorder: StripRecorder,
  scale: TimeScale,
  lane: LaneName,
  sample: number,
  x: number,
  reach: number,
): number | null {
  const marks = lane === 'detected' ? recorder.detected : recorder.reviewed;
  const mark = marks[nearest(marks, sample)];
  if (mark === undefined) return null;
  return Math.abs(xOfSample({ recorder, scale }, mark) - x) <= reach ? mark : null;
}
