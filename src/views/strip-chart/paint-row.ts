import type { DensityStore } from './density';
import { paintDensity } from './paint-density';
import { paintCaret, paintFocus, paintFocusWash, paintGhosts } from './paint-focus';
import { paintIntervals } from './paint-intervals';
import { paintLeaders } from './paint-leaders';
import { paintMarks } from './paint-marks';
import { paintNotes, paintRowSegment, paintSegments } from './paint-notes';
import { paintPointers } from './paint-pointers';
import { paintDisputed, paintRaters } from './paint-raters';
import { paintGaps, paintPending, paintUnreadable } from './paint-spans';
import { pxPerBeat, type Scene } from './scene';

/** Closer than this, ticks would run into one another: the lanes show densities. */
const singleMarksPx = 5;
/** Closer than this, leaders would hide the trace. */
const leadersPx = 14;

/** Everything above the trace for one recorder in one row, from the ground up. */
export function paintGroup(scene: Scene, densities: DensityStore): void {
  const { leftPx, widthPx } = scene.scale;
  const { group, recorder } = scene;
  paintRowSegment(scene);
  scene.pen.clipped(leftPx, group.top, widthPx, group.bottom - group.top, () => {
    paintWaiting(scene);
    paintGaps(scene);
    paintUnreadable(scene);
    paintPending(scene);
    paintDisputed(scene);
    const room = pxPerBeat(scene, recorder.reviewed);
    if (room < singleMarksPx) {
      paintDensity(scene, densities.of(recorder, scene.scale.pxPerSec));
    } else {
      paintFocusWash(scene);
      if (recorder.raters) paintRaters(scene, room >= leadersPx);
      else {
        if (room >= leadersPx) paintLeaders(scene);
        paintMarks(scene);
      }
      paintIntervals(scene);
      paintGhosts(scene);
      paintFocus(scene);
    }
    paintSegments(scene);
    paintNotes(scene);
    paintPointers(scene);
    paintCaret(scene);
  });
}

/** Says so where the signal has not been read yet. */
function paintWaiting({ windows, group, scale, pen, palette, textScale }: Scene): void {
  group.traces.forEach((band, i) => {
    if (windows[i]?.state !== 'absent') return;
    const style = { colour: palette.inkSoft, size: 12 * textScale, anchor: 'middle' } as const;
    pen.text(scale.leftPx + scale.widthPx / 2, band.top + band.height / 2, 'reading the signal', style);
  });
}
