import type { Band } from '../layout';
import { rateY } from '../paint/intervals';
import { openTick, plainTick, strike, tickBands } from '../paint/marks';
import type { StripScene } from '../scene';
import type { Density } from './density';

/** Corrections closer than this on average are drawn as bars of their share, else each in its own shape. */
const shapeRoomPx = 14;
/** Shapes closer than this are drawn once. */
const shapeEveryPx = 6;
const barPx = 4;
/** Share of corrected marks that fills a lane; beyond, bars stop growing. */
const fullShare = 0.25;

interface Cut {
  readonly scene: StripScene;
  readonly density: Density;
  /** Columns in view, `[from, to)`. */
  readonly from: number;
  readonly to: number;
  readonly detected: Band;
  readonly reviewed: Band;
}

/** The lanes of a window too long to show single marks: a full band where marks were looked at, a slim one where not. */
export function paintDensity(scene: StripScene, density: Density): void {
  const { scale } = scene;
  const start = Math.round(scale.startSeconds * scale.pxPerSecond) - density.firstColumn;
  const cut: Cut = {
    scene,
    density,
    from: Math.max(0, start),
    to: Math.min(density.looked.length, start + Math.ceil(scale.widthPx)),
    ...tickBands(scene.group.detected, scene.group.reviewed),
  };
  paintRuns(cut);
  const corrections = sum(density.moved, cut) + sum(density.removed, cut) + sum(density.inserted, cut);
  if (corrections * shapeRoomPx <= scale.widthPx) paintShapes(cut);
  else paintBars(cut);
  paintRates(cut);
}

function sum(counts: Uint16Array, cut: Pick<Cut, 'from' | 'to'>): number {
  let n = 0;
  for (let c = cut.from; c < cut.to; c++) n += counts[c]!;
  return n;
}

function xOfColumn({ scene: { scale }, density }: Cut, column: number): number {
  return scale.leftPx + density.firstColumn + column - scale.startSeconds * scale.pxPerSecond;
}

function paintRuns(cut: Cut): void {
  const { surface, palette } = cut.scene;
  const boxes: number[] = [];
  for (const run of runs(cut.density, cut.from, cut.to)) {
    for (const band of [cut.detected, cut.reviewed]) {
      const height = run.looked ? band.height : Math.max(2, Math.round(band.height * 0.3));
      boxes.push(xOfColumn(cut, run.from), band.top + (band.height - height) / 2, run.to - run.from, height);
    }
  }
  surface.boxes(boxes, palette.inkSoft, 0.4);
}

export interface Run {
  readonly from: number;
  readonly to: number;
  readonly looked: boolean;
}

/** Stretches of columns with marks; a few empty columns between beats do not break one. */
export function runs(density: Pick<Density, 'looked' | 'unlooked'>, from: number, to: number): Run[] {
  const out: { from: number; to: number; looked: boolean }[] = [];
  for (let c = from; c < to; c++) {
    const unlooked = density.unlooked[c]! > 0;
    if (!unlooked && density.looked[c] === 0) continue;
    const last = out.at(-1);
    const near = last !== undefined && c - last.to <= emptyColumns;
    if (near && last.looked === !unlooked) last.to = c + 1;
    else out.push({ from: near ? last.to : c, to: c + 1, looked: !unlooked });
  }
  return out;
}

const emptyColumns = 5;

function paintShapes(cut: Cut): void {
  const { density, scene, detected, reviewed } = cut;
  const { surface, palette } = scene;
  const shapes = { ticks: [] as number[], strikes: [] as number[] };
  const slants: number[] = [];
  for (const x of places(cut, density.removed)) {
    plainTick(shapes.ticks, x, detected);
    strike(shapes.strikes, x, detected);
  }
  for (const x of places(cut, density.inserted)) openTick(shapes, x, reviewed);
  for (const x of places(cut, density.moved)) {
    plainTick(shapes.ticks, x - 3, detected);
    plainTick(shapes.ticks, x + 3, reviewed);
    slants.push(x - 3, detected.top + detected.height, x + 3, reviewed.top);
  }
  surface.lines(slants, { colour: palette.ink, width: 1.5 });
  surface.boxes(shapes.ticks, palette.ink);
  surface.lines(shapes.strikes, { colour: palette.ink, width: 1.5 });
}

function places(cut: Cut, counts: Uint16Array): number[] {
  const out: number[] = [];
  let last = Number.NEGATIVE_INFINITY;
  for (let c = cut.from; c < cut.to; c++) {
    if (counts[c] === 0 || c - last < shapeEveryPx) continue;
    last = c;
    out.push(xOfColumn(cut, c) + 0.5);
  }
  return out;
}

/** Bars stand on the rule between the lanes: up for detected marks that were wrong, down for beats that were put right. */
function paintBars(cut: Cut): void {
  const { density: d, scene, detected, reviewed } = cut;
  const bars: number[] = [];
  const first = cut.from - ((cut.from + d.firstColumn) % barPx);
  for (let c = first; c < cut.to; c += barPx) {
    const bin = { from: Math.max(0, c), to: Math.min(d.looked.length, c + barPx) };
    const beats = sum(d.looked, bin) + sum(d.unlooked, bin) + sum(d.moved, bin) + sum(d.inserted, bin);
    const wrong = sum(d.moved, bin) + sum(d.removed, bin);
    const added = sum(d.moved, bin) + sum(d.inserted, bin);
    const x = xOfColumn(cut, c);
    const up = barHeight(wrong, beats, detected.height);
    const down = barHeight(added, beats, reviewed.height);
    if (up > 0) bars.push(x, detected.top + detected.height - up, barPx - 1, up);
    if (down > 0) bars.push(x, reviewed.top, barPx - 1, down);
  }
  scene.surface.boxes(bars, scene.palette.ink);
}

function barHeight(count: number, beats: number, height: number): number {
  return count === 0 ? 0 : Math.max(2, Math.min(1, count / Math.max(1, beats) / fullShare) * height);
}

/** Columns in one picture of the heart rate; a pan moves the pictures and draws none. */
const columnsKept = 512;

/** Each column from its lowest to its highest rate, so that a single missed beat still shows in a day. */
function paintRates(cut: Cut): void {
  const { scene, density } = cut;
  const { surface, palette, recorder, rates, group } = scene;
  const band = group.interval;
  for (let k = Math.floor(cut.from / columnsKept); k * columnsKept < cut.to; k++) {
    const from = k * columnsKept;
    const box = { x: xOfColumn(cut, from), y: band.top, width: columnsKept + emptyColumns, height: band.height };
    const key = `rates ${recorder.id} ${k} ${band.top}`;
    surface.kept(key, [density, palette, rates.low, rates.high], box, on => {
      const lane = { top: 0, height: band.height };
      on.boxes(rateBoxes(density, from, lane, rates), palette.ink);
    });
  }
}

function rateBoxes(density: Density, from: number, lane: Band, rates: StripScene['rates']): number[] {
  const boxes: number[] = [];
  const to = Math.min(density.rateMin.length, from + columnsKept);
  for (let c = from; c < to; c++) {
    const low = density.rateMin[c]!;
    if (Number.isNaN(low)) continue;
    let next = c + 1;
    while (next < to && next - c < emptyColumns && Number.isNaN(density.rateMin[next]!)) next++;
    const top = rateY(lane, rates, density.rateMax[c]!);
    const height = Math.max(1.5, rateY(lane, rates, low) - top);
    boxes.push(c - from, top - 0.5, next - c, height);
  }
  return boxes;
}
