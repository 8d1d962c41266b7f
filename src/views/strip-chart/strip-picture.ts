import { type Arrangement, arrange } from './arrange';
import { gridShift, gridSpacing, linePositions } from './grid';
import { rateRange } from './intervals';
import type { Band, GroupLayout } from './layout';
import type { StripModel, StripView } from './model';
import { axisEndSeconds, paintBeyond, upTo } from './paint/end';
import { type Palette, printPalette } from './paint/palette';
import { showsFigures } from './paint/preview';
import { paintGroup } from './paint/row';
import { paintRowTime, paintRuler } from './paint/ruler';
import { leadWords, paintStaticLayer, scaleWords } from './paint/static-layer';
import { SvgSurface } from './paint/svg-surface';
import { clockWords, type TimeScale, wallClock } from './time-scale';
import { DensityStore } from './trace/density';
import { gainScale, referenceMv, TraceWindow, yOf } from './trace/window';

export interface PictureRequest {
  readonly model: StripModel;
  readonly view: StripView;
  /** CSS pixels of the strip; the caption is added below. */
  readonly width: number;
  readonly height: number;
  /** Lines under the picture, after the one that names recorder, lead, place and scale. */
  readonly notes: readonly string[];
  /** What the picture was made from, kept in its metadata. */
  readonly facts?: unknown;
  readonly palette?: Palette;
}

/** Columns of a picture are as fine as print at 300 dpi. */
const printRatio = 3;
const captionLinePx = 16;
const captionGapPx = 14;

/** The visible window as an SVG document at its true size, readable in grey, with bars for 1 s and 1 mV. */
export function stripPicture(request: PictureRequest): string {
  const palette = request.palette ?? printPalette;
  const view = { ...request.view, devicePixelRatio: printRatio };
  const { model, width, height } = request;
  const arrangement = arrange(model, view, width, height);
  const surface = new SvgSurface();
  const captions = [caption(model, view, arrangement), ...request.notes];
  const barsHeight = view.mmPerMv * view.pxPerMm + 18;
  const fullHeight = height + captionGapPx + Math.max(captions.length * captionLinePx, barsHeight) + 4;
  surface.boxes([0, 0, width, fullHeight], palette.paper);
  const windows = new Map<Band, TraceWindow>();
  loadWindows(model, view, arrangement, windows);
  const picture: Picture = { surface, palette, model, view, arrangement, windows };
  paintPapers(picture);
  paintStill(picture);
  paintRows(picture);
  paintScaleBars(picture, height + captionGapPx);
  captions.forEach((words, i) => {
    surface.text(8, height + captionGapPx + (i + 0.7) * captionLinePx, words, { colour: palette.ink, size: 11 });
  });
  return surface.finish(width, fullHeight, view.pxPerMm, captions[0]!, request.facts ?? {});
}

interface Picture {
  readonly surface: SvgSurface;
  readonly palette: Palette;
  readonly model: StripModel;
  readonly view: StripView;
  readonly arrangement: Arrangement;
  readonly windows: ReadonlyMap<Band, TraceWindow>;
}

/** Recorder, lead, place in time, scale and filters of what is shown. */
function caption(model: StripModel, view: StripView, { scales }: Arrangement): string {
  const startedAt = model.recorders[0]?.startedAt ?? null;
  const starts = view.rowStarts ? scales.map(s => s.startSeconds) : [scales[0]?.startSeconds ?? 0];
  const what = model.recorders.map(r => {
    const leads = r.tracks.map(t => leadWords(t.leadName)).join(', ');
    const filters = [...new Set(r.tracks.map(t => t.filteredNote ?? 'no display filter'))].join('; ');
    return `${r.label}, ${leads} (${filters})`;
  });
  const clock = wallClock(startedAt, starts[0]!);
  const from = starts.map(s => clockWords(s, 0.1)).join(', ');
  const when = `from ${from} of the recording${clock ? ` (${clock})` : ''}`;
  return [...what, when, scaleWords(view).join(', ')].join(' · ');
}

function loadWindows(model: StripModel, view: StripView, a: Arrangement, windows: Map<Band, TraceWindow>): void {
  const bases = new Map<string, number>();
  for (const row of a.layout.rows) {
    for (const group of row.groups) {
      const recorder = model.recorders[group.recorderIndex]!;
      group.traces.forEach((band, i) => {
        const track = recorder.tracks[i];
        if (!track) return;
        const window = new TraceWindow();
        const durationSeconds = recorder.sampleCount / recorder.samplingRateHz;
        window.load(track, recorder.axis, durationSeconds, a.scales[row.index]!);
        const base = bases.get(track.id) ?? referenceMv(undefined, window.medianMv(), 5 / view.mmPerMv);
        bases.set(track.id, base);
        window.gain = gainScale(band, base, view.mmPerMv * view.pxPerMm);
        windows.set(band, window);
      });
    }
  }
}

/** Grid and trace of every band. */
function paintPapers(picture: Picture): void {
  const { arrangement, windows } = picture;
  for (const row of arrangement.layout.rows) {
    const scale = arrangement.scales[row.index]!;
    for (const band of row.groups.flatMap(g => g.traces)) {
      const window = windows.get(band);
      if (!window) continue;
      picture.surface.clipped(scale.leftPx, band.top, scale.widthPx, band.height, () => {
        paintGrid(picture, band, scale, window.gain.baseY);
        paintTrace(picture, window);
      });
    }
  }
}

function paintGrid({ surface, palette, view }: Picture, band: Band, scale: TimeScale, baseY: number): void {
  const spacing = gridSpacing(view.mmPerSecond, view.pxPerMm);
  const shift = gridShift(scale, spacing.boldX);
  const right = scale.leftPx + scale.widthPx;
  const bottom = band.top + band.height;
  const rule = (colour: string, stepX: number, stepY: number) => {
    const lines: number[] = [];
    for (const x of positions(-shift, stepX, scale.widthPx))
      lines.push(scale.leftPx + x, band.top, scale.leftPx + x, bottom);
    for (const y of positions(baseY - band.top, stepY, band.height))
      lines.push(scale.leftPx, band.top + y, right, band.top + y);
    surface.lines(lines, { colour, width: 0.5 });
  };
  rule(palette.gridFine, spacing.fineX, spacing.fineY);
  rule(palette.gridBold, spacing.boldX, spacing.boldY);
}

function positions(origin: number, step: number, length: number): number[] {
  const fine = 100;
  return linePositions(origin, step, length, fine).map(v => v / fine);
}

function paintTrace({ surface, palette }: Picture, window: TraceWindow): void {
  let points: number[] = [];
  const flush = () => {
    if (points.length > 2) surface.path(points, { colour: palette.trace, width: 0.9 });
    points = [];
  };
  for (let i = 0; i < window.count; i++) {
    const low = window.min[i]!;
    if (Number.isNaN(low)) {
      flush();
      continue;
    }
    const x = window.firstX + i * window.stepX;
    const ys =
      window.perSample || low === window.max[i] ? [low] : i % 2 === 0 ? [window.max[i]!, low] : [low, window.max[i]!];
    for (const mv of ys) points.push(x, yOf(window.gain, mv));
  }
  flush();
}

function paintStill({ surface, palette, model, view, arrangement, windows }: Picture): void {
  const scale = arrangement.scales[0]!;
  const intervals = model.recorders.map(r => ({
    figures: showsFigures({ recorder: r, scale, textScale: view.textScale ?? 1 }),
    rates: rateRange(r.reviewed, r.samplingRateHz),
  }));
  const gains = new Map([...windows].map(([band, window]) => [band, window.gain]));
  paintStaticLayer({ surface, palette, model, view, layout: arrangement.layout, intervals, gains });
}

function paintRows(picture: Picture): void {
  const { surface, palette, model, view, arrangement } = picture;
  const textScale = view.textScale ?? 1;
  const densities = new DensityStore();
  const endSeconds = axisEndSeconds(model);
  for (const row of arrangement.layout.rows) {
    const scale = arrangement.scales[row.index]!;
    const shown = upTo(scale, endSeconds);
    if (shown) paintRuler(surface, palette, row.ruler, shown, textScale);
    if (shown) paintRowTime(surface, palette, row.ruler, scale, model.recorders[0]?.startedAt ?? null, textScale);
    for (const group of shown ? row.groups : []) {
      const recorder = model.recorders[group.recorderIndex]!;
      const rates = rateRange(recorder.reviewed, recorder.samplingRateHz);
      const windows = windowsOf(picture, group);
      paintGroup({ surface, palette, recorder, group, scale, windows, textScale, rates }, densities);
    }
    paintBeyond(surface, palette, arrangement.layout, row, shown);
  }
}

function windowsOf(picture: Picture, group: GroupLayout): TraceWindow[] {
  return group.traces.flatMap(band => picture.windows.get(band) ?? []);
}

/** Right under the strip: an L of 1 s by 1 mV, or of a round time where a second is too short. */
function paintScaleBars({ surface, palette, view, arrangement }: Picture, top: number): void {
  const scale = arrangement.scales[0];
  if (!scale) return;
  const sec = [1, 10, 60, 600, 3600, 14400].find(s => s * scale.pxPerSecond >= 30) ?? 14400;
  const right = scale.leftPx + scale.widthPx - 52;
  const left = right - sec * scale.pxPerSecond;
  const bottom = top + view.mmPerMv * view.pxPerMm;
  const style = { colour: palette.ink, size: 10.5 * (view.textScale ?? 1) } as const;
  surface.lines([left, bottom, right, bottom, right, bottom, right, top], { colour: palette.ink, width: 2 });
  surface.text((left + right) / 2, bottom + 13, secondsWords(sec), { ...style, anchor: 'middle' });
  surface.text(right + 6, (top + bottom) / 2 + 4, '1 mV', style);
}

function secondsWords(sec: number): string {
  if (sec < 60) return `${sec} s`;
  return sec < 3600 ? `${sec / 60} min` : `${sec / 3600} h`;
}
