import type { Marks } from '../../../core/marks/markset';
import { Verdict } from '../../../core/marks/verdicts';
import { type StripScene, visibleIndices, xOfSample } from '../scene';

/** Half the width of a QRS complex as drawn: the leader stops below whatever the trace does within it. */
const clearMs = 60;
const clearPx = 4;

/**
 * The thin lines from marks up to the waves they claim. They stop short of the trace, so the wave stays clean.
 * Solid for a reviewed beat, dashed for a detected mark that has no beat of its own place.
 */
export function paintLeaders(scene: StripScene): void {
  const { recorder, surface, palette, group } = scene;
  const solid: number[] = [];
  const dashed: number[] = [];
  const [from, to] = visibleIndices(scene, recorder.reviewed);
  for (let k = from; k < to; k++) {
    const verdict = recorder.verdicts.ofReviewed(k);
    if (verdict === Verdict.unreadable) continue;
    const x = xOfSample(scene, recorder.reviewed[k]!);
    leader(scene, solid, x);
    if (verdict === Verdict.kept) solid.push(x, group.margin.top, x, group.detected.top + 3);
    else solid.push(x, group.margin.top, x, group.reviewed.top);
  }
  const [first, last] = visibleIndices(scene, recorder.detected);
  for (let j = first; j < last; j++) {
    const verdict = recorder.verdicts.ofDetected(j);
    if (verdict !== Verdict.moved && verdict !== Verdict.removed) continue;
    const x = xOfSample(scene, recorder.detected[j]!);
    leader(scene, dashed, x);
    dashed.push(x, group.margin.top, x, group.detected.top + 3);
  }
  surface.lines(solid, { colour: palette.inkSoft, opacity: 0.5 });
  surface.lines(dashed, { colour: palette.inkSoft, dash: [3, 3], opacity: 0.8 });
}

/** Leaders of a list of marks, from the traces down to the first lane; for lanes that do not share one verdict. */
export function paintPlainLeaders(scene: StripScene, marks: Marks, opacity: number): void {
  const { margin } = scene.group;
  const lines: number[] = [];
  const [from, to] = visibleIndices(scene, marks);
  for (let k = from; k < to; k++) {
    const x = xOfSample(scene, marks[k]!);
    leader(scene, lines, x);
    lines.push(x, margin.top, x, margin.top + margin.height + 3);
  }
  scene.surface.lines(lines, { colour: scene.palette.inkSoft, opacity });
}

function leader(scene: StripScene, out: number[], x: number): void {
  const reach = (clearMs / 1000) * scene.scale.pxPerSecond;
  scene.group.traces.forEach((band, i) => {
    const bottom = band.top + band.height;
    const below = scene.windows[i]?.lowestY(x - reach, x + reach, bottom) ?? bottom;
    const top = Math.max(band.top, below + clearPx);
    if (top < bottom - 2) out.push(x, top, x, bottom);
  });
}
