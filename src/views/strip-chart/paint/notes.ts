import type { Note } from '../../../core/marks/edit';
import type { Segment } from '../../../core/recording/recording';
import { noteText } from '../../../core/review/places/evidence';
import { type StripScene, visibleSamples, xOfSample } from '../scene';

/** Segment boundaries: an upright rule with a small pennon towards its segment, and the name. */
export function paintSegments(scene: StripScene): void {
  const { surface, palette, group } = scene;
  const { leftPx, widthPx } = scene.scale;
  const rules: number[] = [];
  const size = 11.5 * scene.textScale;
  const nameY = group.top + size + 3;
  const right = leftPx + widthPx;
  for (const { segment, startX, endX } of inView(scene)) {
    if (startX >= leftPx) {
      rules.push(startX, group.top, startX, group.bottom);
      surface.shape(pennon(startX, group.top + 2, size, 1), palette.ink);
      name(scene, segment, startX + size * 0.9, nameY);
    }
    if (endX <= right && endX >= leftPx) {
      rules.push(endX, group.top, endX, group.bottom);
      surface.shape(pennon(endX, group.top + 2, size, -1), palette.ink);
    }
  }
  surface.lines(rules, { colour: palette.ink, opacity: 0.75 });
}

function name(scene: StripScene, segment: Segment, x: number, y: number): void {
  const size = 11.5 * scene.textScale;
  scene.surface.text(x, y, segment.name, { colour: scene.palette.ink, size, weight: 600, halo: scene.palette.paper });
}

/** Whether words on a line at `y` would stand in the name of a segment that begins in view. */
export function meetsSegmentName(scene: StripScene, left: number, right: number, y: number): boolean {
  const size = 11.5 * scene.textScale;
  if (Math.abs(y - (scene.group.top + size + 3)) > size * 1.2) return false;
  return inView(scene).some(({ segment, startX }) => {
    const end = startX + size * (0.9 + 0.6 * segment.name.length);
    return startX >= scene.scale.leftPx && startX < right && end > left;
  });
}

/** In the gutter beside the margin: the segment that the row begins in. */
export function paintRowSegment(scene: StripScene): void {
  const { surface, palette, group, recorder, scale } = scene;
  const [start] = visibleSamples(scene);
  const segment = recorder.segments.find(s => s.start <= start && start < s.end);
  if (!segment) return;
  const { top, height } = group.margin;
  const size = 11 * scene.textScale;
  // Small letters of a wide face, up to the window's edge.
  const fits = Math.floor((scale.leftPx - 13) / (size * 0.55));
  const words = segment.name.length > fits ? `${segment.name.slice(0, fits - 1)}…` : segment.name;
  const style = { colour: palette.inkSoft, size, anchor: 'end' } as const;
  surface.text(scale.leftPx - 9, top + height - 2, words, style);
}

function pennon(x: number, top: number, size: number, towards: 1 | -1): number[] {
  return [x, top, x + towards * size * 0.65, top + size * 0.45, x, top + size * 0.9];
}

function inView(scene: StripScene): { segment: Segment; startX: number; endX: number }[] {
  const [start, end] = visibleSamples(scene);
  return scene.recorder.segments
    .filter(s => s.end >= start && s.start < end)
    .map(segment => ({
      segment,
      startX: xOfSample(scene, segment.start),
      endX: xOfSample(scene, segment.end),
    }));
}

/** Comments (a sheet with a turned-down corner) and flags (a pennant on a pole) in the margin above the lanes. */
export function paintNotes(scene: StripScene): void {
  const { surface, palette, group, recorder } = scene;
  const [start, end] = visibleSamples(scene);
  const shown = recorder.notes.filter(n => n.end >= start && n.start < end);
  const { top, height } = group.margin;
  const extent: number[] = [];
  shown.forEach((note, i) => {
    const x = xOfSample(scene, note.start);
    const endX = xOfSample(scene, note.end);
    if (endX - x > height) extent.push(x, top + height - 1, endX, top + height - 1);
    noteShape(scene, note, x);
    const next = shown[i + 1];
    const room = (next === undefined ? scene.scale.leftPx + scene.scale.widthPx : xOfSample(scene, next.start)) - x;
    const size = Math.max(11, height * 0.86);
    const fits = Math.floor((Math.min(room, 300) - height * 1.2 - 6) / (size * 0.56));
    if (fits < 6) return;
    const text = noteText(note);
    const words = text.length > fits ? `${text.slice(0, fits - 1)}…` : text;
    const style = { colour: palette.inkSoft, size, italic: true, halo: palette.paper };
    surface.text(x + height * 1.05, top + height * 0.84, words, style);
  });
  surface.lines(extent, { colour: palette.ink });
}

function noteShape(scene: StripScene, note: Note, x: number): void {
  const { surface, palette, group } = scene;
  const { top, height } = group.margin;
  const h = height - 1;
  if (note.kind === 'flag') {
    surface.boxes([x - 0.75, top, 1.5, h], palette.needsYouInk);
    surface.shape([x, top, x + h * 0.85, top + h * 0.32, x, top + h * 0.64], palette.needsYouInk);
    return;
  }
  const w = h * 0.78;
  const turn = w * 0.42;
  const sheet = [x, top, x + w - turn, top, x + w, top + turn, x + w, top + h - 1, x, top + h - 1, x, top];
  surface.shape(sheet, palette.paperRaised);
  surface.path(sheet, { colour: palette.ink });
  surface.path([x + w - turn, top, x + w - turn, top + turn, x + w, top + turn], { colour: palette.ink });
}
