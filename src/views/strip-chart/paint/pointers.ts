import type { StripPointer } from '../model';
import { type StripScene, visibleSamples, xOfSample } from '../scene';

const armPx = 6;

/** Places pointed out: a bracket open upwards below the trace, with arrows and a framed interval on the current one. */
export function paintPointers(scene: StripScene): void {
  const [start, end] = visibleSamples(scene);
  for (const pointer of scene.recorder.pointers ?? []) {
    if (pointer.span.end <= start || pointer.span.start >= end) continue;
    paintBracket(scene, pointer);
    if (!pointer.current) continue;
    if (pointer.lane === 'interval') frameIntervals(scene, pointer);
    if (pointer.peak !== null) arrowDown(scene, pointer.peak, 'R peak');
    if (pointer.mark !== null) arrowUp(scene, pointer.mark, 'mark');
  }
}

function bracketY({ group }: StripScene): number {
  return group.margin.top - 3;
}

function paintBracket(scene: StripScene, { span, label, lane, current }: StripPointer): void {
  const { surface, palette } = scene;
  const y = bracketY(scene);
  const l = xOfSample(scene, span.start);
  const r = xOfSample(scene, span.end);
  const colour = current ? palette.needsYouInk : palette.inkSoft;
  const width = current ? 2 : 1;
  surface.lines([l, y - armPx, l, y, r, y - armPx, r, y, l, y, r, y], { colour, width });
  if (current && lane === 'trace') surface.lines([l, y + 3, r, y + 3], { colour, width });
  const size = (current ? 12 : 11) * scene.textScale;
  const x = Math.max(l, scene.scale.leftPx) + 4;
  surface.text(x, y - 4, label, { colour, size, weight: current ? 600 : 400, halo: palette.paper });
}

/** Around the figures of the intervals that look odd. */
function frameIntervals(scene: StripScene, { span }: StripPointer): void {
  const { top, height } = scene.group.interval;
  const l = xOfSample(scene, span.start);
  const r = xOfSample(scene, span.end);
  const t = top + 1;
  const b = top + height - 1;
  const frame = [l, t, r, t, r, t, r, b, r, b, l, b, l, b, l, t];
  scene.surface.lines(frame, { colour: scene.palette.needsYouInk, width: 2 });
}

/** From above onto the wave. */
function arrowDown(scene: StripScene, sample: number, word: string): void {
  const { surface, palette, group, scale, windows } = scene;
  const x = xOfSample(scene, sample);
  const reach = Math.max(4, 0.03 * scale.pxPerSecond);
  const trace = group.traces[0]!;
  const wave = windows[0]?.highestY(x - reach, x + reach, trace.top + trace.height / 2) ?? trace.top;
  const size = 11 * scene.textScale;
  const tip = Math.max(trace.top + size + 18, wave - 18);
  surface.lines([x, tip - 12, x, tip - 6], { colour: palette.needsYouInk, width: 2 });
  surface.shape([x - 5, tip - 7, x + 5, tip - 7, x, tip], palette.needsYouInk);
  const style = { colour: palette.needsYouInk, size, weight: 600, anchor: 'middle', halo: palette.paper } as const;
  surface.text(x, tip - 15, word, style);
}

/** From the bracket's words up to where the mark stood. */
function arrowUp(scene: StripScene, sample: number, word: string): void {
  const { surface, palette } = scene;
  const x = xOfSample(scene, sample);
  const y = bracketY(scene) - 18 * scene.textScale;
  surface.shape([x - 5, y, x + 5, y, x, y - 8], palette.needsYouInk);
  const size = 11 * scene.textScale;
  surface.text(x + 8, y, word, { colour: palette.needsYouInk, size, weight: 600, halo: palette.paper });
}
