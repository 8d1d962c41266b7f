import { BeatOutcome } from '../../core/marks/match';
import { totalLength, union } from '../../core/marks/spans';
import type { Standing } from '../../core/review/standing/reviewed-score';
import { standingWords, wholePercent } from '../../core/review/standing/standing-words';
import type { Span } from '../../core/units';
import { rateRange } from '../strip-chart/intervals';
import type { Band } from '../strip-chart/layout';
import type { StripRecorder } from '../strip-chart/model';
import { levelLines, slantedLines } from '../strip-chart/paint/hatch';
import { rateY } from '../strip-chart/paint/intervals';
import { openTick, plainTick, strike } from '../strip-chart/paint/marks';
import type { Palette } from '../strip-chart/paint/palette';
import { paintRuler } from '../strip-chart/paint/ruler';
import type { DrawingSurface } from '../strip-chart/paint/surface';
import type { OverviewLayout } from './overview-layout';
import { outlierRange, tachogramCurve } from './tachogram';

/** What the map shows of one recording. */
export interface OverviewModel {
  readonly recorder: StripRecorder;
  /** Shown at a readable scale, judged or not. Sorted, disjoint. */
  readonly seen: readonly Span[];
  /** Stretches of a sample that were reviewed, in any order. */
  readonly sampled: readonly Span[];
  /** Names of segments that are signed off. */
  readonly signedOff: ReadonlySet<string>;
  /** By name of segment how far its numbers can be relied on; empty where no numbers are shown. */
  readonly standings: ReadonlyMap<string, Standing>;
  /** Samples of suspicious places still open. */
  readonly suspicions: readonly number[];
}

export interface OverviewScene {
  readonly surface: DrawingSurface;
  readonly palette: Palette;
  readonly model: OverviewModel;
  readonly layout: OverviewLayout;
  readonly textScale: number;
  readonly devicePixelRatio: number;
}

export function paintOverview(scene: OverviewScene): void {
  paintRows(scene);
  paintStretches(scene);
  paintTachogram(scene);
  paintCorrections(scene);
  paintCoverage(scene);
  paintSegments(scene);
  paintPlaces(scene);
  const { surface, palette, layout, model, textScale } = scene;
  const durationSeconds = model.recorder.sampleCount / model.recorder.samplingRateHz;
  const pxPerSecond = layout.plotWidthPx / durationSeconds;
  const scale = {
    startSeconds: 0,
    endSeconds: durationSeconds,
    pxPerSecond,
    leftPx: layout.gutterPx,
    widthPx: layout.plotWidthPx,
    devicePixelRatio: scene.devicePixelRatio,
  };
  paintRuler(surface, palette, layout.ruler, scale, textScale, 'below');
}

function xOf(scene: OverviewScene, sample: number): number {
  return scene.layout.gutterPx + (sample / scene.model.recorder.sampleCount) * scene.layout.plotWidthPx;
}

function paintRows(scene: OverviewScene): void {
  const { surface, palette, layout } = scene;
  const { gutterPx, plotWidthPx, tachogram: t, corrections, coverage } = layout;
  const right = gutterPx + plotWidthPx;
  surface.boxes([gutterPx, t.top, plotWidthPx, coverage.top + coverage.height - t.top], palette.paperRaised);
  const rules: number[] = [];
  for (const band of [t, corrections, coverage]) rules.push(0, band.top, right, band.top);
  surface.lines(rules, { colour: palette.rule });
  const bottom = coverage.top + coverage.height;
  surface.lines([gutterPx - 1, 0, gutterPx - 1, bottom, gutterPx - 4, 0, gutterPx - 4, bottom], {
    colour: palette.rule,
  });
}

function rowName(scene: OverviewScene, band: Band, words: string, second?: string): void {
  const size = 11 * scene.textScale;
  const x = scene.layout.gutterPx - 9;
  const style = { colour: scene.palette.inkSoft, size, anchor: 'end' } as const;
  const middle = band.top + band.height / 2 + size * 0.36;
  // In a low row two lines would run into the names above and below: the range is left out.
  if (second === undefined || band.height < size * 2.3) {
    scene.surface.text(x, middle, words, style);
  } else {
    scene.surface.text(x, middle - size * 0.62, words, style);
    scene.surface.text(x, middle + size * 0.62, second, style);
  }
}

/** Unreadable stretches slanted, stretches without signal level, over heart rate and corrections. */
function paintStretches(scene: OverviewScene): void {
  const { surface, palette, layout, model } = scene;
  const { top } = layout.tachogram;
  const height = layout.coverage.top - top;
  const slanted: number[] = [];
  const level: number[] = [];
  const edges: number[] = [];
  const draw = (spans: readonly Span[], fill: (x: number, width: number) => void) => {
    for (const s of spans) {
      const x = xOf(scene, s.start);
      const width = Math.max(2, xOf(scene, s.end) - x);
      fill(x, width);
      edges.push(x, top, x, top + height, x + width, top, x + width, top + height);
    }
  };
  draw(model.recorder.unreadable, (x, width) => slantedLines(slanted, x, top, width, height, x, 6));
  draw(model.recorder.gaps, (x, width) => levelLines(level, x, top, width, height, 5));
  surface.lines(slanted, { colour: palette.hatch, opacity: 0.7 });
  surface.lines(level, { colour: palette.hatch, opacity: 0.7 });
  surface.lines(edges, { colour: palette.hatch, opacity: 0.8 });
}

/** As reviewed in ink; where the detected marks gave another rate, a pale trace of it stays behind. */
function paintTachogram(scene: OverviewScene): void {
  const { surface, palette, layout, model } = scene;
  const { recorder } = model;
  const range = outlierRange(rateRange(recorder.reviewed, recorder.samplingRateHz));
  const excluded = union(recorder.unreadable, recorder.gaps);
  const columns = Math.max(1, Math.floor(layout.plotWidthPx));
  const guides: number[] = [];
  for (let bpm = Math.ceil(range.low / 50) * 50; bpm < range.high; bpm += 50) {
    const y = Math.round(rateY(layout.tachogram, range, bpm));
    guides.push(layout.gutterPx, y, layout.gutterPx + layout.plotWidthPx, y);
  }
  surface.lines(guides, { colour: palette.gridBold });
  const draw = (marks: Int32Array, colour: string) => {
    const t = tachogramCurve(marks, excluded, recorder.samplingRateHz, recorder.sampleCount, columns);
    const boxes: number[] = [];
    let lastY = Number.NaN;
    for (let c = 0; c < columns; c++) {
      if (Number.isNaN(t.min[c]!)) continue;
      const top = rateY(layout.tachogram, range, t.max[c]!);
      const bottom = rateY(layout.tachogram, range, t.min[c]!);
      boxes.push(layout.gutterPx + c, top - 0.75, 1.5, Math.max(1.5, bottom - top + 1.5));
      lastY = bottom;
    }
    if (!Number.isNaN(lastY)) surface.boxes(boxes, colour);
  };
  draw(recorder.detected, palette.rule);
  draw(recorder.reviewed, palette.ink);
  rowName(scene, layout.tachogram, 'heart rate', `${range.low}–${range.high} bpm`);
}

/** Shapes as in the lanes: missed opens at the top, a wrong peak slants, an extra mark is struck. */
function paintCorrections(scene: OverviewScene): void {
  const { surface, palette, layout, model } = scene;
  const { recorder } = model;
  const band = { top: layout.corrections.top + 4, height: layout.corrections.height - 8 };
  rowName(scene, layout.corrections, 'corrections');
  const { inserted, moved, removed } = correctionsOf(recorder);
  if ((inserted.length + moved.length + removed.length) * shapeEveryPx > layout.plotWidthPx) {
    paintCorrectionBars(scene, [...inserted, ...moved, ...removed]);
    return;
  }
  const shapes = { ticks: [] as number[], strikes: [] as number[] };
  for (const x of apart(scene, inserted)) openTick(shapes, x, band);
  for (const x of apart(scene, removed)) {
    plainTick(shapes.ticks, x, band);
    strike(shapes.strikes, x, band);
  }
  for (const x of apart(scene, moved)) {
    shapes.strikes.push(x - 3, band.top, x - 3, band.top + 4, x - 3, band.top + 4, x + 3, band.top + band.height - 4);
    shapes.strikes.push(x + 3, band.top + band.height - 4, x + 3, band.top + band.height);
  }
  surface.boxes(shapes.ticks, palette.ink);
  surface.lines(shapes.strikes, { colour: palette.ink, width: 1.5 });
}

/** Samples of the beats put in, of those whose mark sat on another wave, and of the marks taken out. */
function correctionsOf({ verdicts: { matching } }: StripRecorder) {
  const { beats, marks, outcome, beatOfMark, beatsOffPeak, marksOffPeak } = matching;
  const at = (k: number) => beats[k]!;
  return {
    inserted: Array.from(
      beatsOffPeak.filter(k => outcome[k] === BeatOutcome.missed),
      at,
    ),
    moved: Array.from(
      beatsOffPeak.filter(k => outcome[k] === BeatOutcome.wrongPeak),
      at,
    ),
    removed: Array.from(
      marksOffPeak.filter(j => beatOfMark[j] === -1),
      j => marks[j]!,
    ),
  };
}

const barPx = 4;
/** Share of corrected beats that fills the row. */
const fullShare = 0.25;

/** Too many to tell apart: bars of the share of beats that were corrected. */
function paintCorrectionBars(scene: OverviewScene, samples: readonly number[]): void {
  const { surface, palette, layout, model } = scene;
  const bins = Math.ceil(layout.plotWidthPx / barPx);
  const beats = new Uint32Array(bins);
  const corrected = new Uint32Array(bins);
  const binOf = (sample: number) => Math.min(bins - 1, Math.floor((xOf(scene, sample) - layout.gutterPx) / barPx));
  for (const sample of model.recorder.reviewed) beats[binOf(sample)]!++;
  for (const sample of samples) corrected[binOf(sample)]!++;
  const { top, height } = layout.corrections;
  const bars: number[] = [];
  for (let bin = 0; bin < bins; bin++) {
    if (corrected[bin] === 0) continue;
    const share = Math.min(1, corrected[bin]! / Math.max(1, beats[bin]!) / fullShare);
    const bar = Math.max(2, share * (height - 4));
    bars.push(layout.gutterPx + bin * barPx, top + height - bar, barPx - 1, bar);
  }
  surface.boxes(bars, palette.ink);
}

/** Shapes of one kind closer than this merge into the first. */
const shapeEveryPx = 7;

function apart(scene: OverviewScene, samples: readonly number[]): number[] {
  const out: number[] = [];
  let last = Number.NEGATIVE_INFINITY;
  for (const sample of samples) {
    const x = xOf(scene, sample);
    if (x - last < shapeEveryPx) continue;
    last = x;
    out.push(x);
  }
  return out;
}

/** A line that fills: slim where shown, full where judged, and how much of the whole that is. */
function paintCoverage(scene: OverviewScene): void {
  const { surface, palette, layout, model } = scene;
  const { top, height } = layout.coverage;
  const middle = top + height / 2;
  const bar = (spans: readonly Span[], half: number) =>
    spans.flatMap(s => [
      xOf(scene, s.start),
      middle - half,
      Math.max(1, xOf(scene, s.end) - xOf(scene, s.start)),
      2 * half,
    ]);
  const whole = [layout.gutterPx, middle, layout.gutterPx + layout.plotWidthPx, middle];
  surface.lines(whole, { colour: palette.rule });
  surface.boxes(bar(model.seen, 1.5), palette.inkSoft);
  surface.boxes(bar(model.recorder.accepted, 3.5), palette.inkSoft);
  surface.boxes(sampledTicks(scene, top, height), palette.accent);
  const looked = totalLength(union(model.seen, model.recorder.accepted)) / model.recorder.sampleCount;
  rowName(scene, layout.coverage, `seen ${wholePercent(looked)}`);
}

/** A tick across the line for each stretch of a sample, wide enough to be seen on a day. */
function sampledTicks(scene: OverviewScene, top: number, height: number): number[] {
  return scene.model.sampled.flatMap(s => {
    const x = xOf(scene, s.start);
    return [x, top + 1, Math.max(1.5, xOf(scene, s.end) - x), height - 2];
  });
}

function paintSegments(scene: OverviewScene): void {
  const { surface, palette, layout, model, textScale } = scene;
  const { top, height } = layout.segments;
  const size = 11 * textScale;
  const rules: number[] = [];
  for (const segment of model.recorder.segments) {
    const left = xOf(scene, segment.start);
    const right = xOf(scene, segment.end);
    const bottom = layout.coverage.top + layout.coverage.height;
    rules.push(left, top + 3, left, bottom, right, top + 3, right, bottom, left, top + 3, right, top + 3);
    const done = model.signedOff.has(segment.name);
    const room = right - left - (done ? size * 1.6 : 8);
    const fits = Math.floor(room / (size * 0.57));
    if (done && right - left > 16) paintDone(scene, right - size * 1.1, top + height * 0.6, size);
    if (fits < 2) continue;
    const words = segment.name.length > fits ? `${segment.name.slice(0, fits - 1)}…` : segment.name;
    surface.text(left + 5, top + height * 0.76, words, { colour: palette.ink, size });
    const beside = standingThatFits(model.standings.get(segment.name), fits - words.length - 2);
    const end = right - (done ? size * 1.6 : 5);
    surface.text(end, top + height * 0.76, beside, { colour: palette.inkSoft, size, anchor: 'end' });
  }
  surface.lines(rules, { colour: palette.inkSoft, opacity: 0.8 });
  rowName(scene, layout.segments, 'segments');
}

/** In full, or its first word; nothing where that would be cut as well. */
export function standingThatFits(standing: Standing | undefined, letters: number): string {
  if (!standing) return '';
  return [standingWords(standing), standing.status].find(words => words.length <= letters) ?? '';
}

/** Signed off: the tick one makes beside a finished entry. */
function paintDone(scene: OverviewScene, x: number, middle: number, size: number): void {
  const s = size * 0.36;
  scene.surface.path([x - s, middle, x - s * 0.2, middle + s * 0.8, x + s * 1.2, middle - s], {
    colour: scene.palette.ink,
    width: 2,
  });
}

/** Comments, flags and open suspicious places along the edges of the heart-rate row. */
function paintPlaces(scene: OverviewScene): void {
  const { surface, palette, layout, model } = scene;
  const { top, height } = layout.tachogram;
  for (const note of model.recorder.notes) {
    const x = xOf(scene, note.start);
    if (note.kind === 'flag') {
      surface.boxes([x - 0.75, top + 1, 1.5, 11], palette.needsYouInk);
      surface.shape([x, top + 1, x + 8, top + 4, x, top + 7], palette.needsYouInk);
    } else {
      surface.path([x, top + 2, x + 5, top + 2, x + 8, top + 5, x + 8, top + 11, x, top + 11, x, top + 2], {
        colour: palette.ink,
      });
    }
  }
  let last = Number.NEGATIVE_INFINITY;
  const y = top + height - 4;
  for (const sample of model.suspicions) {
    const x = xOf(scene, sample);
    if (x - last < 5) continue;
    last = x;
    surface.shape([x - 3, y, x, y - 3, x + 3, y, x, y + 3], palette.needsYou);
  }
}
