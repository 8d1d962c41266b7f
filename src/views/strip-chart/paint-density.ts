import { type Density, holds } from './density';
import { rateY } from './paint-intervals';
import { openTick, plainTick, strike, tickBands } from './paint-marks';
import type { Scene } from './scene';

/** Correction shapes closer than this are drawn once. */
const shapeEveryPx = 6;

/**
 * The lanes when single marks cannot be told apart: a full band where marks were looked at, a dotted half band where
 * not, and every correction still as its own shape.
 */
export function paintDensity(scene: Scene, density: Density): void {
  const { pen, palette, scale } = scene;
  const start = Math.round(scale.startSec * scale.pxPerSec);
  const from = Math.max(0, start - density.firstColumn);
  const to = Math.min(density.contents.length, start - density.firstColumn + Math.ceil(scale.widthPx));
  const xOf = (column: number) => scale.leftPx + density.firstColumn + column - scale.startSec * scale.pxPerSec;
  const bands = tickBands(scene.group.detected, scene.group.reviewed);
  const looked: number[] = [];
  const unlooked: number[] = [];
  for (const run of runs(density.contents, from, to)) {
    for (const band of [bands.detected, bands.reviewed]) {
      const out = run.looked ? looked : unlooked;
      const height = run.looked ? band.height : Math.round(band.height * 0.35);
      out.push(xOf(run.from), band.top + (band.height - height) / 2, run.to - run.from, height);
    }
  }
  pen.boxes(looked, palette.inkSoft, 0.45);
  pen.boxes(unlooked, palette.inkSoft, 0.45);
  paintCorrections(scene, density, from, to, xOf);
  paintRates(scene, density, from, to, xOf);
}

interface Run {
  readonly from: number;
  readonly to: number;
  readonly looked: boolean;
}

/** Stretches of columns with marks; up to two empty columns between beats do not break one. */
export function runs(contents: Uint8Array, from: number, to: number): Run[] {
  const out: { from: number; to: number; looked: boolean }[] = [];
  let last: { from: number; to: number; looked: boolean } | null = null;
  for (let c = from; c < to; c++) {
    const bits = contents[c]! & ~holds.removed;
    if (bits === 0) continue;
    const isLooked = (bits & holds.unlooked) === 0;
    if (last !== null && last.looked === isLooked && c - last.to <= 3) last.to = c + 1;
    else out.push((last = { from: last !== null && c - last.to <= 3 ? last.to : c, to: c + 1, looked: isLooked }));
  }
  return out;
}

function paintCorrections(scene: Scene, density: Density, from: number, to: number, xOf: (c: number) => number): void {
  const { pen, palette } = scene;
  const bands = tickBands(scene.group.detected, scene.group.reviewed);
  const shapes = { ticks: [] as number[], strikes: [] as number[] };
  const slants: number[] = [];
  const last = { removed: -shapeEveryPx, inserted: -shapeEveryPx, moved: -shapeEveryPx };
  const due = (kind: keyof typeof last, c: number) => c - last[kind] >= shapeEveryPx && (last[kind] = c) === c;
  for (let c = from; c < to; c++) {
    const bits = density.contents[c]!;
    if ((bits & (holds.removed | holds.inserted | holds.moved)) === 0) continue;
    const x = xOf(c) + 0.5;
    if (bits & holds.removed && due('removed', c)) {
      plainTick(shapes.ticks, x, bands.detected);
      strike(shapes.strikes, x, bands.detected);
    }
    if (bits & holds.inserted && due('inserted', c)) openTick(shapes, x, bands.reviewed);
    if (bits & holds.moved && due('moved', c)) {
      plainTick(shapes.ticks, x - 3, bands.detected);
      plainTick(shapes.ticks, x + 3, bands.reviewed);
      slants.push(x - 3, bands.detected.top + bands.detected.height, x + 3, bands.reviewed.top);
    }
  }
  pen.lines(slants, { colour: palette.ink, width: 1.5 });
  pen.boxes(shapes.ticks, palette.ink);
  pen.lines(shapes.strikes, { colour: palette.ink, width: 1.5 });
}

/** Each column from its lowest to its highest rate, so that a single missed beat still shows in a day. */
function paintRates(scene: Scene, density: Density, from: number, to: number, xOf: (c: number) => number): void {
  const boxes: number[] = [];
  for (let c = from; c < to; c++) {
    const low = density.rateMin[c]!;
    if (Number.isNaN(low)) continue;
    const top = rateY(scene.group.interval, density.rateMax[c]!);
    boxes.push(xOf(c), top - 0.5, 1, Math.max(1, rateY(scene.group.interval, low) - top + 1));
  }
  scene.pen.boxes(boxes, scene.palette.ink);
}
