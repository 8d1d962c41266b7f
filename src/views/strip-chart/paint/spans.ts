import { firstEndingAfter } from '../../../core/marks/spans';
import type { Span } from '../../../core/units';
import type { Band } from '../layout';
import { type StripScene, visibleSamples, xOfSample } from '../scene';
import { levelLines, slantedLines } from './hatch';

const hatchSpacingPx = 8;
const ruledSpacingPx = 5;

interface Extent {
  readonly left: number;
  readonly right: number;
  /** Where the span begins, on or off the screen. */
  readonly originX: number;
}

/** Hatching of one rater's unreadable spans in that rater's lane. */
export function paintLaneHatch(scene: StripScene, spans: readonly Span[], lane: Band): void {
  const { surface, palette } = scene;
  const hatching: number[] = [];
  const boxes: number[] = [];
  for (const { left, right, originX } of extents(scene, spans)) {
    slantedLines(hatching, left, lane.top + 2, right - left, lane.height - 4, originX, 6);
    boxes.push(left, lane.top + 2, right - left, lane.height - 4);
  }
  surface.lines(hatching, { colour: palette.hatch });
  if (boxes.length > 0) surface.lines(outline(boxes), { colour: palette.hatch });
}

/** A wash over stretches, from the first lane to the last. */
export function paintStretches(
  scene: StripScene,
  spans: readonly Span[],
  colour: string,
  top: number,
  bottom: number,
): void {
  const boxes: number[] = [];
  for (const { left, right } of extents(scene, spans)) boxes.push(left, top, right - left, bottom - top);
  scene.surface.boxes(boxes, colour);
}

/** The spans in view, cut to the plot, at least two pixels wide. */
function extents(scene: StripScene, spans: readonly Span[]): Extent[] {
  const [start, end] = visibleSamples(scene);
  const { leftPx, widthPx } = scene.scale;
  const out: Extent[] = [];
  for (let i = firstEndingAfter(spans, start); i < spans.length && spans[i]!.start < end; i++) {
    const originX = xOfSample(scene, spans[i]!.start);
    const left = Math.max(leftPx, originX);
    const right = Math.min(leftPx + widthPx, Math.max(xOfSample(scene, spans[i]!.end), left + 2));
    if (right > left) out.push({ left, right, originX });
  }
  return out;
}

/** Unreadable: slanted hatching over trace and lanes, closed by upright edges, named in its own lane. */
export function paintUnreadable(scene: StripScene): void {
  const { surface, palette, group, recorder } = scene;
  const hatching: number[] = [];
  const edges: number[] = [];
  const bars: number[] = [];
  const lane = group.unreadable;
  const found = extents(scene, recorder.unreadable);
  for (const { left, right, originX } of found) {
    slantedLines(hatching, left, group.top, right - left, group.bottom - group.top, originX, hatchSpacingPx);
    edges.push(left, group.top, left, group.bottom, right, group.top, right, group.bottom);
    bars.push(left, lane.top + 3, right - left, lane.height - 6);
  }
  surface.lines(hatching, { colour: palette.hatch, opacity: 0.5 });
  surface.lines(edges, { colour: palette.hatch });
  surface.boxes(bars, palette.paperRaised, 1);
  surface.lines(bars.length > 0 ? outline(bars) : [], { colour: palette.ink });
  for (const e of found) spanWords(scene, e, 'unreadable', lane.top + lane.height / 2);
}

/** No signal: level ruling over the trace and the words; the same where the other recorder runs and this one does not yet, or no more. */
export function paintGaps(scene: StripScene): void {
  paintRuled(scene, scene.recorder.gaps, 'no signal');
  paintRuled(scene, notRecorded(scene), 'not recorded');
}

/** What is in view before the recording begins and after it ends; the edges of the view are rounded outwards by a sample or two. */
function notRecorded(scene: StripScene): Span[] {
  const { sampleCount } = scene.recorder;
  const [start, end] = visibleSamples(scene);
  return [
    { start, end: Math.min(0, end) },
    { start: Math.max(sampleCount, start), end },
  ].filter((s): s is Span => s.end > s.start + 2);
}

function paintRuled(scene: StripScene, spans: readonly Span[], words: string): void {
  const { surface, palette, group } = scene;
  const boxes: number[] = [];
  const ruling: number[] = [];
  const edges: number[] = [];
  const found = extents(scene, spans);
  for (const { left, right } of found) {
    boxes.push(left, group.top, right - left, group.bottom - group.top);
    levelLines(ruling, left, group.top, right - left, group.bottom - group.top, ruledSpacingPx);
    edges.push(left, group.top, left, group.bottom, right, group.top, right, group.bottom);
  }
  surface.boxes(boxes, palette.paperOff, 0.8);
  surface.lines(ruling, { colour: palette.hatch, opacity: 0.55 });
  surface.lines(edges, { colour: palette.hatch });
  const first = group.traces[0]!;
  for (const e of found) spanWords(scene, e, words, first.top + first.height / 2);
}

/** What is not under review now: greyed from the first lane to the last, closed by upright edges. */
export function paintFaded(scene: StripScene): void {
  const { surface, palette, group, recorder } = scene;
  if (!recorder.faded) return;
  const found = extents(scene, recorder.faded);
  const height = group.bottom - group.top;
  const boxes = found.flatMap(({ left, right }) => [left, group.top, right - left, height]);
  surface.boxes(boxes, palette.paperOff, 0.6);
  const edges = found.flatMap(({ left, right }) => [
    left,
    group.top,
    left,
    group.bottom,
    right,
    group.top,
    right,
    group.bottom,
  ]);
  surface.lines(edges, { colour: palette.accent });
}

/** A span begun and not ended: dashed edges, thin hatching in its lane only. */
export function paintPending(scene: StripScene): void {
  const { surface, palette, group, recorder } = scene;
  if (recorder.pendingSpan === null) return;
  for (const { left, right, originX } of extents(scene, [recorder.pendingSpan])) {
    const hatching: number[] = [];
    slantedLines(hatching, left, group.unreadable.top, right - left, group.unreadable.height, originX, 5);
    surface.lines(hatching, { colour: palette.needsYou });
    const edges = [left, group.top, left, group.bottom, right, group.top, right, group.bottom];
    surface.lines(edges, { colour: palette.needsYou, dash: [4, 3] });
  }
}

function spanWords(scene: StripScene, e: Extent, words: string, middleY: number): void {
  const size = 11 * scene.textScale;
  const wide = words.length * size * 0.58 + 8;
  if (e.right - e.left < wide) return;
  const middle = (e.left + e.right) / 2;
  scene.surface.boxes([middle - wide / 2, middleY - size * 0.65, wide, size * 1.3], scene.palette.paperRaised);
  scene.surface.text(middle, middleY + size * 0.36, words, { colour: scene.palette.ink, size, anchor: 'middle' });
}

function outline(boxes: readonly number[]): number[] {
  const out: number[] = [];
  for (let i = 0; i < boxes.length; i += 4) {
    const x = boxes[i]!;
    const y = boxes[i + 1]!;
    const right = x + boxes[i + 2]!;
    const bottom = y + boxes[i + 3]!;
    out.push(x, y, right, y, right, y, right, bottom, right, bottom, x, bottom, x, bottom, x, y);
  }
  return out;
}
