import { type StripScene, visibleSamples, xOfSample } from '../scene';
import { meetsSegmentName } from './notes';

const gapPx = 8;
/** Width of a character of a bold text as a share of the size: enough for most sentences and common fonts. */
const characterEm = 0.63;

/** Why the place under the caret is worth a look, at the top of its row beside the caret. */
export function paintReason(scene: StripScene): void {
  const { recorder, surface, palette, group, scale, textScale } = scene;
  if (!recorder.reason || recorder.caret === null) return;
  const [start, end] = visibleSamples(scene);
  if (recorder.caret < start || recorder.caret >= end) return;
  const x = xOfSample(scene, recorder.caret);
  const size = 11.5 * textScale;
  const top = group.traces[0]!.top + size * 1.2;
  const right = scale.leftPx + scale.widthPx;
  const toTheLeft = x - scale.leftPx > right - x;
  const room = Math.floor(((toTheLeft ? x - scale.leftPx : right - x) - 2 * gapPx) / (size * characterEm));
  const words = recorder.reason.length > room ? `${recorder.reason.slice(0, Math.max(0, room - 1))}…` : recorder.reason;
  const length = words.length * size * characterEm + gapPx;
  const [from, to] = toTheLeft ? [x - length, x] : [x, x + length];
  // Where a segment begins, its name stands on this line.
  const y = meetsSegmentName(scene, from, to, top) ? top + size * 1.3 : top;
  const style = { colour: palette.needsYouInk, size, weight: 600, halo: palette.paper } as const;
  surface.text(toTheLeft ? x - gapPx : x + gapPx, y, words, toTheLeft ? { ...style, anchor: 'end' } : style);
}
