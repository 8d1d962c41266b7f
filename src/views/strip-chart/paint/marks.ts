import { covers } from '../../../core/marks/spans';
import { Verdict } from '../../../core/marks/verdicts';
import type { Band } from '../layout';
import { type StripScene, visibleIndices, xOfSample } from '../scene';

/** Where ticks stand in the two mark lanes: towards the outer edges, which leaves room between them for the join. */
export interface TickBands {
  readonly detected: Band;
  readonly reviewed: Band;
}

export function tickBands(detected: Band, reviewed: Band): TickBands {
  const edge = Math.max(2, Math.round(detected.height * 0.14));
  const join = Math.max(3, Math.round(detected.height * 0.24));
  return {
    detected: { top: detected.top + edge, height: detected.height - edge - join },
    reviewed: { top: reviewed.top + join, height: reviewed.height - edge - join },
  };
}

export const tickWidthPx = 2;

/** Shapes of the marks in view, collected by stroke so that each kind is one path. */
export interface MarkShapes {
  readonly ticks: number[];
  readonly faint: number[];
  readonly joins: number[];
  readonly dottedJoins: number[];
  readonly slants: number[];
  readonly strikes: number[];
}

export function emptyShapes(): MarkShapes {
  return { ticks: [], faint: [], joins: [], dottedJoins: [], slants: [], strikes: [] };
}

export function plainTick(out: number[], x: number, band: Band): void {
  out.push(x - tickWidthPx / 2, band.top, tickWidthPx, band.height);
}

/** Not looked at yet: a tick of dots. */
function dottedTick(out: number[], x: number, band: Band): void {
  for (let y = band.top; y + 2 <= band.top + band.height; y += 4) out.push(x - tickWidthPx / 2, y, tickWidthPx, 2);
}

/** Taken out by the rater: a line through the tick. */
export function strike(out: number[], x: number, band: Band): void {
  const middle = band.top + band.height / 2;
  out.push(x - 6, middle + 5, x + 6, middle - 5);
}

/** Put in by the rater: a stem that opens at the top, with nothing above it. */
export function openTick(shapes: Pick<MarkShapes, 'ticks' | 'strikes'>, x: number, band: Band): void {
  const fork = Math.round(band.height * 0.42);
  shapes.ticks.push(x - tickWidthPx / 2, band.top + fork, tickWidthPx, band.height - fork);
  shapes.strikes.push(x - 4, band.top - 1, x, band.top + fork + 1, x, band.top + fork + 1, x + 4, band.top - 1);
}

/** Every mark in view, by its verdict. */
export function collectMarks(scene: StripScene): MarkShapes {
  const shapes = emptyShapes();
  const bands = tickBands(scene.group.detected, scene.group.reviewed);
  const { recorder } = scene;
  const { verdicts } = recorder;
  const [from, to] = visibleIndices(scene, recorder.reviewed, 1);
  for (let k = from; k < to; k++) collectReviewed(scene, shapes, bands, k);
  const [first, last] = visibleIndices(scene, recorder.detected, 1);
  for (let j = first; j < last; j++) {
    const verdict = verdicts.ofDetected(j);
    const x = xOfSample(scene, recorder.detected[j]!);
    if (verdict === Verdict.removed) {
      plainTick(shapes.ticks, x, bands.detected);
      strike(shapes.strikes, x, bands.detected);
    } else if (verdict === Verdict.unreadable) {
      plainTick(shapes.faint, x, bands.detected);
    } else if (isFarAway(verdicts.reviewedOf(j), from, to)) {
      plainTick(shapes.ticks, x, bands.detected);
    }
  }
  return shapes;
}

function isFarAway(partner: number, from: number, to: number): boolean {
  return partner < from || partner >= to;
}

function collectReviewed(scene: StripScene, shapes: MarkShapes, bands: TickBands, k: number): void {
  const { recorder } = scene;
  const { verdicts } = recorder;
  const sample = recorder.reviewed[k]!;
  const x = xOfSample(scene, sample);
  const verdict = verdicts.ofReviewed(k);
  if (verdict === Verdict.unreadable) plainTick(shapes.faint, x, bands.reviewed);
  else if (verdict === Verdict.inserted) openTick(shapes, x, bands.reviewed);
  else collectPair(scene, shapes, bands, k, x);
}

function collectPair(scene: StripScene, shapes: MarkShapes, bands: TickBands, k: number, x: number): void {
  const { recorder } = scene;
  const { verdicts } = recorder;
  const sample = recorder.reviewed[k]!;
  const verdict = verdicts.ofReviewed(k);
  const partner = recorder.detected[verdicts.detectedOf(k)]!;
  const partnerX = partner === sample ? x : xOfSample(scene, partner);
  const joinTop = bands.detected.top + bands.detected.height;
  const looked = verdict !== Verdict.kept || covers(recorder.accepted, sample);
  const tick = looked ? plainTick : dottedTick;
  tick(shapes.ticks, x, bands.reviewed);
  tick(shapes.ticks, partnerX, bands.detected);
  const join = verdict === Verdict.moved || verdict === Verdict.refined ? shapes.slants : shapes.joins;
  (looked ? join : shapes.dottedJoins).push(partnerX, joinTop, x, bands.reviewed.top);
}

export function paintMarks(scene: StripScene): void {
  const { surface, palette } = scene;
  const shapes = collectMarks(scene);
  surface.boxes(shapes.faint, palette.inkSoft, 0.55);
  surface.lines(shapes.joins, { colour: palette.ink });
  surface.lines(shapes.dottedJoins, { colour: palette.ink, dash: [1, 3] });
  surface.lines(shapes.slants, { colour: palette.ink, width: 1.5 });
  surface.boxes(shapes.ticks, palette.ink);
  surface.lines(shapes.strikes, { colour: palette.ink, width: 1.5 });
}
