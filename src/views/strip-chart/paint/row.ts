import { pxPerBeat, type StripScene } from '../scene';
import type { DensityStore } from '../trace/density';
import { paintDensity } from '../trace/paint-density';
import { paintCaret, paintFocus, paintFocusWash, paintSuggestions } from './focus';
import { paintIntervals } from './intervals';
import { paintLeaders } from './leaders';
import { paintLeaving } from './leaving';
import { paintMarks } from './marks';
import { paintNotes, paintRowSegment, paintSegments } from './notes';
import { paintPointers } from './pointers';
import { paintPreview } from './preview';
import { paintDisputed, paintRaters } from './raters';
import { paintReason } from './reason';
import { paintFaded, paintGaps, paintPending, paintUnreadable } from './spans';

/** Closer than this, ticks would run into one another: the lanes show densities. */
const singleMarksPx = 5;
/** Closer than this, leaders would hide the trace. */
const leadersPx = 14;

/** Everything above the trace for one recorder in one row, from the ground up. */
export function paintGroup(scene: StripScene, densities: DensityStore): void {
  const { leftPx, widthPx } = scene.scale;
  const { group, recorder } = scene;
  paintRowSegment(scene);
  scene.surface.clipped(leftPx, group.top, widthPx, group.bottom - group.top, () => {
    paintWaiting(scene);
    paintGaps(scene);
    paintUnreadable(scene);
    paintPending(scene);
    paintFaded(scene);
    paintDisputed(scene);
    const room = pxPerBeat(scene, recorder.reviewed);
    if (room < singleMarksPx) {
      paintDensity(scene, densities.of(recorder, scene.scale.pxPerSecond));
    } else {
      paintFocusWash(scene);
      if (recorder.raters) paintRaters(scene, room >= leadersPx);
      else {
        if (room >= leadersPx) paintLeaders(scene);
        paintMarks(scene);
      }
      paintIntervals(scene);
      if (recorder.preview) paintPreview(scene, recorder.preview);
      paintSuggestions(scene);
      paintFocus(scene);
    }
    paintLeaving(scene);
    paintReason(scene);
    paintSegments(scene);
    paintNotes(scene);
    paintPointers(scene);
    paintCaret(scene);
  });
}

/** Says so where the signal has not been read yet. */
function paintWaiting({ windows, group, scale, surface, palette, textScale }: StripScene): void {
  group.traces.forEach((band, i) => {
    if (windows[i]?.state !== 'absent') return;
    const style = { colour: palette.inkSoft, size: 12 * textScale, anchor: 'middle' } as const;
    surface.text(scale.leftPx + scale.widthPx / 2, band.top + band.height / 2, 'reading the signal', style);
  });
}
