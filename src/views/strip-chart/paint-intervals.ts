import { intervalAfter, rateBpm } from './intervals';
import type { Band } from './layout';
import { pxPerBeat, type Scene, visibleIndices, xOfSample } from './scene';

/** Beats per minute at the bottom and top of the lane when it is drawn as a line. */
export const lineRange = { low: 40, high: 200 } as const;

/** RR and rate in figures while they fit, else the heart rate as a line. */
export function paintIntervals(scene: Scene): void {
  const room = pxPerBeat(scene, scene.recorder.reviewed);
  if (room >= 30 * scene.textScale) paintFigures(scene);
  else paintLine(scene);
}

function paintFigures(scene: Scene): void {
  const { recorder, group, pen, palette } = scene;
  const { top, height } = group.interval;
  const twoLines = height >= 26 * scene.textScale;
  const size = 12 * scene.textScale;
  const msY = twoLines ? top + height * 0.45 : top + height * 0.74;
  const dividers: number[] = [];
  const underlines: number[] = [];
  const [from, to] = visibleIndices(scene, recorder.reviewed, 1);
  for (let k = from; k < to; k++) {
    const interval = intervalAfter(recorder, k);
    const left = xOfSample(scene, recorder.reviewed[k]!);
    dividers.push(left, top, left, top + Math.min(6, height * 0.3));
    if (interval === null) continue;
    const right = xOfSample(scene, recorder.reviewed[k + 1]!);
    const middle = (left + right) / 2;
    const words = intervalWords(interval.rrMs, twoLines ? 0 : right - left, scene.textScale);
    const halfWidth = words.length * size * 0.32;
    if (halfWidth * 2 > right - left - 4) continue;
    pen.text(middle, msY, words, { colour: palette.ink, size, anchor: 'middle' });
    if (!interval.asDetected && interval.rrMs !== null) {
      underlines.push(middle - halfWidth, msY + 3, middle + halfWidth, msY + 3);
    }
    if (twoLines && interval.rrMs !== null) {
      const rate = String(Math.round(rateBpm(interval.rrMs)));
      pen.text(middle, top + height * 0.86, rate, { colour: palette.inkSoft, size: size * 0.9, anchor: 'middle' });
    }
  }
  pen.lines(dividers, { colour: palette.inkSoft });
  pen.lines(underlines, { colour: palette.ink });
}

/** `812`, or `812 ms · 74` where a single line has room for both; a dash where nothing can be judged. */
function intervalWords(rrMs: number | null, roomPx: number, textScale: number): string {
  if (rrMs === null) return '–';
  const ms = String(Math.round(rrMs));
  return roomPx > 78 * textScale ? `${ms} · ${Math.round(rateBpm(rrMs))}` : ms;
}

/** A level stroke an interval at its rate, joined: a missed beat drops to half, an extra mark leaps to double. */
function paintLine(scene: Scene): void {
  const { recorder, group, pen, palette } = scene;
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
    const y = Math.round(rateY(group.interval, rateBpm(interval.rrMs)));
    if (lastY !== null && lastY !== y) segments.push(left, lastY, left, y);
    segments.push(left, y, right, y);
    lastY = y;
  }
  pen.lines(segments, { colour: palette.ink });
}

export function rateY(band: Band, bpm: number): number {
  const share = (bpm - lineRange.low) / (lineRange.high - lineRange.low);
  return band.top + band.height - 2 - Math.min(1, Math.max(0, share)) * (band.height - 4);
}
