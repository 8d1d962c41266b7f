import { nearest } from '../../core/marks/markset';
import type { GroupLayout, StripLayout } from './layout';
import type { LaneName, Picked, StripModel, StripRecorder } from './model';
import { xOfSample } from './scene';
import type { TimeScale } from './time-scale';
import { sampleAt } from './trace-window';

/** Marks within this many pixels of the pointer are meant; fingers get the same through the lanes' height. */
const reachPx = 9;

/** What lies under a point of the chart, CSS pixels from its top left. Null where there is no row. */
export function pickAt(
  model: StripModel,
  layout: StripLayout,
  scales: readonly TimeScale[],
  x: number,
  y: number,
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
    nearMark: markNear(recorder, scale, lane, unclipped, x),
  };
}

export function laneAt(group: GroupLayout, y: number): LaneName {
  if (y < group.detected.top) return 'trace';
  if (y < group.reviewed.top) return 'detected';
  if (y < group.interval.top) return 'reviewed';
  if (y < group.unreadable.top) return 'interval';
  return 'unreadable';
}

function markNear(recorder: StripRecorder, scale: TimeScale, lane: LaneName, sample: number, x: number): number | null {
  const marks = lane === 'detected' ? recorder.detected : recorder.reviewed;
  const mark = marks[nearest(marks, sample)];
  if (mark === undefined) return null;
  return Math.abs(xOfSample({ recorder, scale }, mark) - x) <= reachPx ? mark : null;
}
