import { has, lowerBound } from '../../../core/marks/markset';
import { canBeTaken, type SuggestedMark } from '../model';
import { type StripScene, visibleSamples, xOfSample } from '../scene';
import { tickBands } from './marks';
import { paintPreview } from './preview';

const bracketPx = 9;

/** Under the marks: a wash behind the selected beat's entry. */
export function paintFocusWash(scene: StripScene): void {
  const x = selectedX(scene);
  if (x === null) return;
  const { detected, interval } = scene.group;
  scene.surface.boxes(
    [x - bracketPx, detected.top, 2 * bracketPx, interval.top - detected.top],
    scene.palette.accentWash,
  );
}

/** Over the marks: brackets around the entry, and a cap over the wave it claims. */
export function paintFocus(scene: StripScene): void {
  const x = selectedX(scene);
  if (x === null) return;
  const { surface, palette, group, recorder } = scene;
  const stroke = { colour: palette.accent, width: 2 };
  const top = group.detected.top + 1;
  const bottom = group.reviewed.top + group.reviewed.height - 1;
  const l = x - bracketPx;
  const r = x + bracketPx;
  surface.lines([l, top, l, bottom, r, top, r, bottom], stroke);
  surface.lines([l, top, l + 4, top, r - 4, top, r, top, l, bottom, l + 4, bottom, r - 4, bottom, r, bottom], stroke);
  const bands = tickBands(group.detected, group.reviewed);
  const selected = recorder.selected!;
  const ticks: number[] = [];
  if (has(recorder.reviewed, selected)) ticks.push(x - 1.5, bands.reviewed.top, 3, bands.reviewed.height);
  else ticks.push(x - 1.5, bands.detected.top, 3, bands.detected.height);
  surface.boxes(ticks, palette.accent);
  paintCaps(scene, x);
}

/** On every trace: a bracket open downwards just above the wave. */
function paintCaps(scene: StripScene, x: number): void {
  const { surface, palette, group, windows, scale } = scene;
  const reach = Math.max(4, 0.05 * scale.pxPerSecond);
  group.traces.forEach((band, i) => {
    const peak = windows[i]?.highestY(x - reach, x + reach, band.top + band.height / 2) ?? band.top;
    const y = Math.max(band.top + 4, peak - 8);
    const lines = [
      x - bracketPx,
      y,
      x + bracketPx,
      y,
      x - bracketPx,
      y,
      x - bracketPx,
      y + 5,
      x + bracketPx,
      y,
      x + bracketPx,
      y + 5,
    ];
    surface.lines(lines, { colour: palette.accent, width: 2 });
  });
}

function selectedX(scene: StripScene): number | null {
  const { selected } = scene.recorder;
  if (selected === null) return null;
  const [start, end] = visibleSamples(scene);
  return selected >= start && selected < end ? xOfSample(scene, selected) : null;
}

/** The caret: a thin upright line that stands on a foot, above the figures so that it never crosses one. */
export function paintCaret(scene: StripScene): void {
  const { recorder, surface, palette, group } = scene;
  if (recorder.caret === null) return;
  const [start, end] = visibleSamples(scene);
  if (recorder.caret < start || recorder.caret >= end) return;
  const x = xOfSample(scene, recorder.caret);
  const bottom = group.interval.top;
  surface.lines([x, group.top, x, bottom], { colour: palette.ink, opacity: 0.55 });
  surface.shape([x - 5, bottom, x, bottom - 6, x + 5, bottom], palette.ink);
}

const suggestionWords = { insert: 'add?', move: 'move?', delete: 'remove?', unreadable: 'unreadable?' } as const;

/** Suggestions: hollow and dashed, with the question in words where there is room. */
export function paintSuggestions(scene: StripScene): void {
  const { recorder, surface, palette, group } = scene;
  const [start, end] = visibleSamples(scene);
  const bands = tickBands(group.detected, group.reviewed);
  const dashed: number[] = [];
  const labels: Label[] = [];
  for (const suggestion of recorder.suggestions) {
    const last = suggestion.kind === 'unreadable' ? suggestion.end : suggestion.at;
    if (last < start || suggestion.at >= end || !canBeTaken(suggestion, recorder.reviewed)) continue;
    const x = xOfSample(scene, Math.max(suggestion.at, start));
    if (suggestion.kind === 'unreadable') {
      const right = xOfSample(scene, Math.min(suggestion.end, end));
      const { top } = group.detected;
      const bottom = group.unreadable.top + group.unreadable.height;
      dashed.push(x, top, x, bottom, right, top, right, bottom, x, top, right, top, x, bottom, right, bottom);
      suggestionLabel(scene, suggestion, x, labels);
      continue;
    }
    if (suggestion.kind === 'delete') {
      const middle = group.reviewed.top;
      dashed.push(x - 8, middle + 8, x + 8, middle - 8);
    } else {
      hollowTick(dashed, x, bands.reviewed);
      if (suggestion.kind === 'move') {
        const fromX = xOfSample(scene, suggestion.from);
        dashed.push(fromX, bands.detected.top + bands.detected.height, x, bands.reviewed.top);
      }
    }
    suggestionLabel(scene, suggestion, x, labels);
  }
  surface.lines(dashed, { colour: palette.needsYou, width: 1.5, dash: [3, 2] });
}

function hollowTick(out: number[], x: number, band: { top: number; height: number }): void {
  const bottom = band.top + band.height;
  out.push(x - 3, band.top, x - 3, bottom, x + 3, band.top, x + 3, bottom, x - 3, bottom, x + 3, bottom);
  out.push(x - 3, band.top, x + 3, band.top);
}

interface Label {
  readonly left: number;
  readonly right: number;
}

/** In the detected lane, only where the next mark and the words of more suspicious places leave room for the word. */
function suggestionLabel(scene: StripScene, suggestion: SuggestedMark, x: number, labels: Label[]): void {
  const { group, surface, palette } = scene;
  const { detected } = scene.recorder;
  const size = 11 * scene.textScale;
  const words = suggestionWords[suggestion.kind];
  const next = detected[lowerBound(detected, suggestion.at + 1)];
  const room = next === undefined ? Number.POSITIVE_INFINITY : xOfSample(scene, next) - x;
  const width = words.length * size * 0.58 + 8;
  if (room < width || labels.some(l => x < l.right && x + width > l.left)) return;
  labels.push({ left: x, right: x + width });
  const y = group.detected.top + group.detected.height * 0.5 + size * 0.35;
  surface.text(x + 5, y, words, { colour: palette.needsYouInk, size, halo: palette.paperRaised });
}

/** A mark being dragged, in samples of its recorder. */
export interface Drag {
  readonly from: number;
  readonly to: number;
}

/** The dragged mark where it would land, joined to where it came from. */
export function paintDrag(scene: StripScene, drag: Drag): void {
  const { surface, palette, group } = scene;
  const bands = tickBands(group.detected, group.reviewed);
  const x = xOfSample(scene, drag.to);
  const fromX = xOfSample(scene, drag.from);
  const bottom = bands.reviewed.top + bands.reviewed.height;
  surface.lines([x, group.top, x, bottom], { colour: palette.accent });
  surface.lines([fromX, bands.reviewed.top, x, bands.reviewed.top], { colour: palette.accent, width: 2 });
  surface.boxes([x - 1.5, bands.reviewed.top, 3, bands.reviewed.height], palette.accent);
  paintPreview(scene, { removed: [drag.from], added: [drag.to] });
}
