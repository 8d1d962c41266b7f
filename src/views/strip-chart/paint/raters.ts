import { Verdict } from '../../../core/marks/verdicts';
import type { Band } from '../layout';
import type { RaterLane } from '../model';
import { type StripScene, visibleIndices, xOfSample } from '../scene';
import { paintPlainLeaders } from './leaders';
import { emptyShapes, type MarkShapes, openTick, plainTick, strike, tickWidthPx } from './marks';
import { paintLaneHatch, paintStretches } from './spans';

/** Room between two lanes' ticks for the lines that join them. */
const joinPx = 5;

/** Two raters around the detected marks: each lane is read against the lane between them. */
export function paintRaters(scene: StripScene, withLeaders: boolean): void {
  const { group, recorder, surface, palette } = scene;
  const { raters } = recorder;
  if (!raters || !group.raters) return;
  if (withLeaders) {
    paintPlainLeaders(scene, raters.above.marks, 0.4);
    paintPlainLeaders(scene, raters.below.marks, 0.4);
  }
  paintLaneHatch(scene, raters.above.unreadable, group.raters.above);
  paintLaneHatch(scene, raters.below.unreadable, group.raters.below);
  const shapes = emptyShapes();
  collectLane(scene, shapes, raters.above, group.raters.above, true);
  collectLane(scene, shapes, raters.below, group.raters.below, false);
  const middle = inner(group.detected);
  const [first, last] = visibleIndices(scene, recorder.detected, 1);
  for (let j = first; j < last; j++) plainTick(shapes.ticks, xOfSample(scene, recorder.detected[j]!), middle);
  if (raters.settled) {
    const [from, to] = visibleIndices(scene, recorder.reviewed, 1);
    const band = inner(group.reviewed);
    for (let k = from; k < to; k++) plainTick(shapes.ticks, xOfSample(scene, recorder.reviewed[k]!), band);
  }
  surface.boxes(shapes.faint, palette.inkSoft, 0.55);
  surface.lines(shapes.joins, { colour: palette.ink });
  surface.lines(shapes.slants, { colour: palette.ink, width: 1.5 });
  surface.boxes(shapes.ticks, palette.ink);
  surface.lines(shapes.strikes, { colour: palette.ink, width: 1.5 });
}

/** Where the two differ: a rule along the top of the lanes; the current difference is washed from top to bottom. */
export function paintDisputed(scene: StripScene): void {
  const { group, palette, recorder } = scene;
  if (!recorder.raters || !group.raters) return;
  const { top } = group.raters.above;
  paintStretches(scene, recorder.raters.inHand, palette.accentWash, top, group.interval.top);
  paintStretches(scene, recorder.raters.disputed, palette.needsYou, top - 4, top - 1);
}

function inner(band: Band): Band {
  return { top: band.top + joinPx, height: Math.max(2, band.height - 2 * joinPx) };
}

/**
 * Kept: a plain tick joined to the detected one; moved: a slanted join; put in: an open tick without a join; taken out: a
 * struck stub where the detected mark is.
 */
function collectLane(scene: StripScene, shapes: MarkShapes, lane: RaterLane, band: Band, above: boolean): void {
  const { detected } = scene.recorder;
  const middle = inner(scene.group.detected);
  const ticks = inner(band);
  const edge = above ? ticks.top + ticks.height : ticks.top;
  const meeting = above ? middle.top : middle.top + middle.height;
  const [from, to] = visibleIndices(scene, lane.marks, 1);
  for (let k = from; k < to; k++) {
    const x = xOfSample(scene, lane.marks[k]!);
    const verdict = lane.verdicts.ofReviewed(k);
    const partner = detected[lane.verdicts.detectedOf(k)];
    if (verdict === Verdict.unreadable) plainTick(shapes.faint, x, ticks);
    else if (partner === undefined) openTick(shapes, x, ticks);
    else {
      plainTick(shapes.ticks, x, ticks);
      const slanted = verdict === Verdict.moved || verdict === Verdict.refined;
      (slanted ? shapes.slants : shapes.joins).push(x, edge, xOfSample(scene, partner), meeting);
    }
  }
  const [first, last] = visibleIndices(scene, detected, 1);
  for (let j = first; j < last; j++) {
    const verdict = lane.verdicts.ofDetected(j);
    if (verdict !== Verdict.removed) continue;
    const x = xOfSample(scene, detected[j]!);
    shapes.faint.push(x - tickWidthPx / 2, ticks.top, tickWidthPx, ticks.height);
    strike(shapes.strikes, x, ticks);
  }
}
