import { changedIntervals, type MarkChange } from '../intervals';
import { type Band, intervalParts, twoLinesPx } from '../layout';
import { pxPerBeat, type StripScene, visibleSamples, xOfSample } from '../scene';

/** Whether intervals have room for figures. */
export function showsFigures(scene: Pick<StripScene, 'recorder' | 'scale' | 'textScale'>): boolean {
  return pxPerBeat(scene, scene.recorder.reviewed) >= 30 * scene.textScale;
}

/** Mean width of a character as a share of the size. */
const characterEm = 0.56;

/** Where the words of a preview stand in the interval lane, CSS pixels. */
export interface PreviewWords {
  readonly words: string;
  readonly left: number;
  readonly right: number;
  readonly lane: Band;
}

/** The intervals before and after a change, in the middle of where they lie; null where there is nothing to say. */
export function previewWords(scene: StripScene, change: MarkChange): PreviewWords | null {
  const { recorder, scale, group, textScale } = scene;
  const lane = intervalParts(group.interval, showsFigures(scene), textScale).figures;
  const changed = changedIntervals(recorder, change);
  if (!lane || !changed) return null;
  const middle = (changed.start + changed.end) / 2;
  const [start, end] = visibleSamples(scene);
  if (middle < start || middle >= end) return null;
  const list = (ms: readonly number[]) => ms.map(v => Math.round(v)).join(' ');
  const words = `${list(changed.beforeMs)} → ${list(changed.afterMs)}`;
  const width = words.length * 12 * textScale * characterEm + 8;
  const from = xOfSample(scene, Math.round(middle)) - width / 2;
  const left = Math.max(scale.leftPx, Math.min(scale.leftPx + scale.widthPx - width, from));
  return { words, left, right: left + width, lane };
}

export function paintPreview(scene: StripScene, change: MarkChange): void {
  const preview = previewWords(scene, change);
  if (!preview) return;
  const { surface, palette, textScale } = scene;
  const { left, right, words, lane } = preview;
  const size = 12 * textScale;
  const y = lane.top + (lane.height >= twoLinesPx * textScale ? lane.height * 0.45 : lane.height * 0.74);
  surface.boxes([left, lane.top + 1, right - left, lane.height - 2], palette.paperRaised);
  surface.text((left + right) / 2, y, words, { colour: palette.needsYouInk, size, weight: 600, anchor: 'middle' });
}
