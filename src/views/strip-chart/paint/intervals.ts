import { intervalAfter, type RateRange, rateBpm, rateFitsBeside, wouldBeLost } from '../intervals';
import { type Band, intervalParts, twoLinesPx } from '../layout';
import { type StripScene, visibleIndices, xOfSample } from '../scene';
import { previewWords, showsFigures } from './preview';
import type { TextStyle } from './surface';

/** RR and rate in figures while they fit, and the heart rate as a line where they do not or both have room. */
export function paintIntervals(scene: StripScene): void {
  const parts = intervalParts(scene.group.interval, showsFigures(scene), scene.textScale);
  if (parts.figures) paintFigures(scene, parts.figures);
  if (parts.line) paintLine(scene, parts.line);
}

function paintFigures(scene: StripScene, { top, height }: Band): void {
  const { recorder, surface, palette } = scene;
  const twoLines = height >= twoLinesPx * scene.textScale;
  const size = 12 * scene.textScale;
  const { widthPx, startSeconds, endSeconds } = scene.scale;
  const pxPerSecond = widthPx / (endSeconds - startSeconds);
  const withRate = !twoLines && rateFitsBeside(pxPerSecond, scene.rates, scene.textScale);
  const msY = twoLines ? top + height * 0.45 : top + height * 0.74;
  const preview = recorder.preview ? previewWords(scene, recorder.preview) : null;
  const dividers: number[] = [];
  const struck: number[] = [];
  const underlines: number[] = [];
  const inBpm = { colour: palette.inkSoft, size: size * 0.92, dy: top + height * 0.86 - msY };
  const style: TextStyle = { colour: palette.ink, size, anchor: 'middle', ...(twoLines ? { second: inBpm } : {}) };
  const [from, to] = visibleIndices(scene, recorder.reviewed, 1);
  for (let k = from; k < to; k++) {
    const interval = intervalAfter(recorder, k);
    const left = xOfSample(scene, recorder.reviewed[k]!);
    dividers.push(left, top, left, top + Math.min(6, height * 0.3));
    if (interval === null || interval.rrMs === null) continue;
    const right = xOfSample(scene, recorder.reviewed[k + 1]!);
    const middle = (left + right) / 2;
    const words = intervalWords(interval.rrMs, withRate);
    const halfWidth = words.length * size * 0.32;
    if (halfWidth * 2 > right - left - 4) continue;
    if (preview && middle + halfWidth > preview.left && middle - halfWidth < preview.right) continue;
    if (wouldBeLost(recorder.preview?.unreadable ?? null, recorder.reviewed[k]!, recorder.reviewed[k + 1]!))
      struck.push(middle - halfWidth - 2, msY - size * 0.36, middle + halfWidth + 2, msY - size * 0.36);
    // In one go: laying a picture costs the same whatever is on it.
    surface.text(middle, msY, twoLines ? `${words}\n${Math.round(rateBpm(interval.rrMs))}` : words, style);
    if (!interval.asDetected) {
      underlines.push(middle - halfWidth, msY + 3, middle + halfWidth, msY + 3);
    }
  }
  surface.lines(dividers, { colour: palette.inkSoft });
  surface.lines(underlines, { colour: palette.ink });
  surface.lines(struck, { colour: palette.needsYou, width: 1.5 });
}

/** `812`, or `812 · 74` where single lines have room for both. */
function intervalWords(rrMs: number, withRate: boolean): string {
  const ms = String(Math.round(rrMs));
  return withRate ? `${ms} · ${Math.round(rateBpm(rrMs))}` : ms;
}

/** A level stroke an interval at its rate, joined: a missed beat drops to half, an extra mark leaps to double. */
function paintLine(scene: StripScene, band: Band): void {
  const { recorder, surface, palette } = scene;
  const [from, to] = visibleIndices(scene, recorder.reviewed, 1);
  const segments: number[] = [];
  let lastY: number | null = null;
  for (let k = from; k < to; k++) {
    const interval = intervalAfter(recorder, k);
    if (interval === null || interval.rrMs === null) {
      lastY = null;
      continue;
    }
    const left = xOfSample(scene, recorder.reviewed[k]!);
    const right = xOfSample(scene, recorder.reviewed[k + 1]!);
    const y = Math.round(rateY(band, scene.rates, rateBpm(interval.rrMs)));
    if (lastY !== null && lastY !== y) segments.push(left, lastY, left, y);
    segments.push(left, y, right, y);
    lastY = y;
  }
  surface.lines(segments, { colour: palette.ink });
}

export function rateY(band: Band, range: RateRange, bpm: number): number {
  const share = (bpm - range.low) / (range.high - range.low);
  return band.top + band.height - 2 - Math.min(1, Math.max(0, share)) * (band.height - 4);
}
