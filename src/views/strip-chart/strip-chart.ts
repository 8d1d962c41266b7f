import { cssPxPerMm } from '../../core/units';
import 'uplot/dist/uPlot.min.css';
import './strip-chart.css';
import { rowScales } from './arrange';
import { FrameLoop } from './frame';
import { GridSheet, gridShift, gridSpacing } from './grid';
import { type RateRange, rateRange } from './intervals';
import { type Band, rowsThatFit, type StripLayout, stripLayout } from './layout';
import type { Picked, StripModel, StripRecorder, StripTrack, StripView } from './model';
import { axisEndSeconds, paintBeyond, upTo } from './paint/end';
import { type Drag, paintDrag } from './paint/focus';
import { type Palette, readPalette } from './paint/palette';
import { showsFigures } from './paint/preview';
import { paintGroup } from './paint/row';
import { paintRowTime, paintRuler } from './paint/ruler';
import { paintStaticLayer } from './paint/static-layer';
import { CanvasSurface } from './paint/surface';
import { type PointerKind, pickAt } from './pick';
import { Pictures } from './pictures';
import { stripPicture } from './strip-picture';
import type { TimeScale } from './time-scale';
import { DensityStore } from './trace/density';
import { roomTaken } from './trace/leaving';
import { TracePlot } from './trace/plot';
import { gainScale, referenceMv, TraceWindow } from './trace/window';

interface BandView {
  readonly element: HTMLElement;
  readonly grid: GridSheet;
  readonly plot: TracePlot;
  readonly window: TraceWindow;
  /** Where it lies now: left, top, width, height in CSS pixels. */
  box: readonly number[];
  /** How far the grid is moved left now, CSS pixels. */
  shift: number;
}

/** What the chart measured, for commands that page and for the choice of rows. */
export interface StripMeasure {
  /** CSS pixels in which the trace runs, without the gutter. */
  readonly plotWidthPx: number;
  readonly gutterPx: number;
  readonly height: number;
  readonly rowsThatFit: number;
}

const noModel: StripModel = { recorders: [] };
const startView: StripView = {
  startSeconds: 0,
  mmPerSecond: 25,
  mmPerMv: 10,
  pxPerMm: cssPxPerMm,
  rows: 1,
  devicePixelRatio: 1,
  theme: '',
};

/**
 * The strip: traces on ECG paper with ledger lanes under them. Owns its frames: setters only note what changed, and
 * one animation frame later the visible columns are read and drawn. All but the traces shares one opaque canvas, onto
 * which grid and static layer are copied: without a graphics card every further layer costs as much as the drawing.
 */
export class StripChart {
  onMeasure: ((measure: StripMeasure) => void) | null = null;
  private readonly host: HTMLElement;
  private readonly below = opaqueSheet();
  private readonly above = opaqueSheet();
  private readonly frames = new FrameLoop(() => this.draw());
  private readonly densities = new DensityStore();
  private readonly pictures = new Pictures();
  private readonly bands: BandView[] = [];
  private readonly rates = new WeakMap<StripRecorder['reviewed'], RateRange>();
  private readonly bases = new Map<string, number>();
  private readonly observer: ResizeObserver;
  private model = noModel;
  private view = startView;
  private layout: StripLayout = stripLayout([], startView, 1, 1);
  private scales: readonly TimeScale[] = [];
  /** What the layout was made for, and the time scales. */
  private placed: readonly unknown[] = [];
  private scaled: StripView | null = null;
  private palette: Palette;
  private size = { width: 0, height: 0 };
  private layerKey: readonly unknown[] = [];
  private measureKey = '';
  /** Pixel ratio the plots were made for: a hairline is another width on another screen. */
  private plotRatio = devicePixelRatio;
  private drag: Drag | null = null;

  constructor(host: HTMLElement) {
    this.host = host;
    host.classList.add('strip-chart');
    host.append(this.above.canvas);
    this.palette = readPalette(host);
    this.observer = new ResizeObserver(() => this.resized());
    this.observer.observe(host);
    this.resized();
  }

  setModel(model: StripModel): void {
    this.model = model;
    this.frames.ask();
  }

  setView(view: StripView): void {
    if (view.theme !== this.view.theme) this.palette = readPalette(this.host);
    this.view = view;
    this.frames.ask();
  }

  /** Data behind `columns` has arrived or changed. */
  invalidate(): void {
    this.frames.ask();
  }

  whenIdle(): Promise<void> {
    return this.frames.whenIdle();
  }

  /** What lies under a point of the screen; null outside the rows. */
  pick(clientX: number, clientY: number, pointer?: PointerKind): Picked | null {
    const box = this.host.getBoundingClientRect();
    this.arrange();
    return pickAt(this.model, this.layout, this.scales, clientX - box.left, clientY - box.top, pointer);
  }

  /** Axis seconds from the first row's left edge to the last row's right edge. */
  visibleSpan(): { startSeconds: number; endSeconds: number; rowSeconds: number } {
    this.arrange();
    const first = this.scales[0]!;
    return {
      startSeconds: first.startSeconds,
      endSeconds: this.scales.at(-1)!.endSeconds,
      rowSeconds: first.endSeconds - first.startSeconds,
    };
  }

  plotWidthPx(): number {
    return this.measure().plotWidthPx;
  }

  /** How much of their rows the shown traces take in height; over 1 some wave leaves its row. */
  roomTaken(): number {
    const bands = this.layout.rows.flatMap(r => r.groups.flatMap(g => g.traces));
    return bands.reduce(
      (most, band, i) => Math.max(most, this.bands[i] ? roomTaken(this.bands[i].window, band) : 0),
      0,
    );
  }

  /** Rows in which the traces are still tall enough to read. */
  rowsThatFit(): number {
    return this.measure().rowsThatFit;
  }

  /** A mark on its way under the pointer, samples of the first recorder; null when dropped. */
  showDrag(from: number | null, to: number | null): void {
    this.drag = from === null || to === null ? null : { from, to };
    this.frames.ask();
  }

  measure(): StripMeasure {
    this.arrange();
    const { plotWidthPx, gutterPx, height } = this.layout;
    const fit = rowsThatFit(this.model.recorders, this.view.pxPerMm, height, this.view.textScale);
    return { plotWidthPx, gutterPx, height, rowsThatFit: fit };
  }

  /** What is shown now as an SVG document to print; `notes` are lines under it (settings, versions). */
  picture(notes: readonly string[]): string {
    return stripPicture({ model: this.model, view: this.view, ...this.size, notes });
  }

  destroy(): void {
    this.observer.disconnect();
    this.frames.stop();
    for (const band of this.bands) band.plot.destroy();
    this.host.replaceChildren();
    this.host.classList.remove('strip-chart');
  }

  private resized(): void {
    this.size = { width: this.host.clientWidth, height: this.host.clientHeight };
    this.frames.ask();
  }

  /** Places rows and time scales for the current size, model and view. */
  private arrange(): void {
    const { recorders } = this.model;
    const { rows, textScale } = this.view;
    const { width, height } = this.size;
    const places = [recorders, rows, textScale, width, height];
    if (!places.every((v, i) => v === this.placed[i])) {
      this.placed = places;
      this.layout = stripLayout(recorders, this.view, Math.max(1, width), Math.max(1, height));
      this.scaled = null;
    }
    if (this.scaled === this.view) return;
    this.scaled = this.view;
    this.scales = rowScales(this.layout, this.view);
  }

  private ratio(): number {
    return this.view.devicePixelRatio;
  }

  private draw(): void {
    if (this.size.width === 0 || this.size.height === 0) return;
    this.arrange();
    this.reportMeasure();
    this.drawTraces();
    this.drawBelow();
    this.drawAbove();
  }

  private reportMeasure(): void {
    const measure = this.measure();
    const key = Object.values(measure).join();
    if (key === this.measureKey) return;
    this.measureKey = key;
    this.onMeasure?.(measure);
  }

  private drawTraces(): void {
    if (this.plotRatio !== devicePixelRatio) this.dropBands(0);
    this.plotRatio = devicePixelRatio;
    let used = 0;
    for (const row of this.layout.rows) {
      const scale = this.scales[row.index]!;
      for (const group of row.groups) {
        const recorder = this.model.recorders[group.recorderIndex]!;
        group.traces.forEach((band, i) => {
          const view = this.bandAt(used++, band);
          const track = recorder.tracks[i];
          if (!track) return;
          view.window.load(track, recorder.axis, recorder.sampleCount / recorder.samplingRateHz, scale);
          this.drawBand(view, track, band, scale, row.index === 0);
        });
      }
    }
    this.dropBands(used);
  }

  private dropBands(from: number): void {
    for (const spare of this.bands.splice(from)) {
      spare.plot.destroy();
      spare.element.remove();
    }
  }

  /** The reference value is settled by the first row, so that all rows of a trace share it. */
  private drawBand(view: BandView, track: StripTrack, band: Band, scale: TimeScale, settles: boolean): void {
    const { mmPerMv, mmPerSecond, pxPerMm } = this.view;
    const known = this.bases.get(track.id);
    const base = settles || known === undefined ? referenceMv(known, view.window.medianMv(), 5 / mmPerMv) : known;
    this.bases.set(track.id, base);
    view.window.gain = gainScale(band, base, mmPerMv * pxPerMm);
    const spacing = gridSpacing(mmPerSecond, pxPerMm);
    const baseY = view.window.gain.baseY - band.top;
    view.grid.draw(scale.widthPx, band.height, baseY, spacing, this.palette, this.ratio());
    view.shift = gridShift(scale, spacing.boldX);
    view.plot.draw(view.window, scale.leftPx, band.top);
  }

  private bandAt(index: number, band: Band): BandView {
    const { gutterPx, plotWidthPx } = this.layout;
    const view = this.bands[index] ?? this.newBand(plotWidthPx, band.height);
    const box = [gutterPx, band.top, plotWidthPx, band.height] as const;
    if (box.every((v, i) => v === view.box[i])) return view;
    view.box = box;
    const { style } = view.element;
    style.left = `${gutterPx}px`;
    style.top = `${band.top}px`;
    style.width = `${plotWidthPx}px`;
    style.height = `${band.height}px`;
    view.plot.resize(plotWidthPx, band.height);
    return view;
  }

  private newBand(width: number, height: number): BandView {
    const element = document.createElement('div');
    element.className = 'strip-band';
    this.host.append(element);
    const window = new TraceWindow();
    const plot = new TracePlot(element, width, height, window, () => this.palette);
    const view = { element, grid: new GridSheet(), plot, window, box: [], shift: 0 };
    this.bands.push(view);
    return view;
  }

  private ratesOf(recorder: StripRecorder): RateRange {
    const known = this.rates.get(recorder.reviewed);
    if (known) return known;
    const range = rateRange(recorder.reviewed, recorder.samplingRateHz);
    this.rates.set(recorder.reviewed, range);
    return range;
  }

  /** Redrawn only when something other than the time changed. */
  private drawBelow(): void {
    const { startSeconds: _, rowStarts: __, ...still } = this.view;
    const intervals = this.model.recorders.map(r => {
      const figures = showsFigures({ recorder: r, scale: this.scales[0]!, textScale: this.view.textScale ?? 1 });
      return { figures, rates: this.ratesOf(r) };
    });
    const bases = [...this.bases.values()];
    const { width, height } = this.size;
    const key = [
      width,
      height,
      ...Object.values(still),
      ...intervals.flatMap(({ figures, rates }) => [figures, rates.low, rates.high]),
      ...bases,
      ...this.model.recorders.flatMap(labelsOf),
    ];
    if (key.length === this.layerKey.length && key.every((k, i) => k === this.layerKey[i])) return;
    this.layerKey = key;
    const surface = this.surfaceFor(this.below);
    surface.boxes([0, 0, width, height], this.palette.paper);
    const traces = this.layout.rows.flatMap(r => r.groups.flatMap(g => g.traces));
    paintStaticLayer({
      surface,
      palette: this.palette,
      model: this.model,
      view: this.view,
      layout: this.layout,
      intervals,
      gains: new Map(traces.map((band, i) => [band, this.bands[i]!.window.gain])),
    });
  }

  private drawAbove(): void {
    const surface = this.surfaceFor(this.above);
    this.layPapers();
    const textScale = this.view.textScale ?? 1;
    const endSeconds = axisEndSeconds(this.model);
    const startedAt = this.model.recorders[0]?.startedAt ?? null;
    let at = 0;
    for (const row of this.layout.rows) {
      const scale = this.scales[row.index]!;
      const shown = upTo(scale, endSeconds);
      if (shown) {
        paintRuler(surface, this.palette, row.ruler, shown, textScale);
        paintRowTime(surface, this.palette, row.ruler, scale, startedAt, textScale);
      }
      for (const group of shown ? row.groups : []) {
        const windows = this.bands.slice(at, (at += group.traces.length)).map(b => b.window);
        const recorder = this.model.recorders[group.recorderIndex]!;
        const rates = this.ratesOf(recorder);
        const scene = { surface, palette: this.palette, recorder, group, scale, windows, textScale, rates };
        paintGroup(scene, this.densities);
        if (this.drag && group.recorderIndex === 0) paintDrag(scene, this.drag);
      }
      paintBeyond(surface, this.palette, this.layout, row, shown);
    }
  }

  /** The static layer, then the grid of every trace, copied under what is painted next. */
  private layPapers(): void {
    const context = this.above;
    const ratio = this.ratio();
    const { gutterPx, plotWidthPx, rows } = this.layout;
    const { width, height } = context.canvas;
    const left = Math.round(gutterPx * ratio);
    const right = Math.round((gutterPx + plotWidthPx) * ratio);
    let from = 0;
    const traces = rows.flatMap(r => r.groups.flatMap(g => g.traces));
    traces.forEach((band, i) => {
      // The grid covers the band: copying the static layer below it too would double the pixels moved.
      const top = Math.round(band.top * ratio);
      this.layStaticLayer(0, from, width, top);
      from = top + Math.round(band.height * ratio);
      this.layStaticLayer(0, top, left, from);
      this.layStaticLayer(right, top, width, from);
      const { grid, shift } = this.bands[i]!;
      grid.lay(context, gutterPx, band.top, plotWidthPx, shift, ratio);
    });
    this.layStaticLayer(0, from, width, height);
  }

  /** Copies one part of the static layer, between two corners in device pixels. */
  private layStaticLayer(left: number, top: number, right: number, bottom: number): void {
    const [width, height] = [right - left, bottom - top];
    if (width <= 0 || height <= 0) return;
    this.above.drawImage(this.below.canvas, left, top, width, height, left, top, width, height);
  }

  /** A drawing surface on an opaque canvas of the chart's size; whoever draws covers all of it. */
  private surfaceFor(context: CanvasRenderingContext2D): CanvasSurface {
    const { canvas } = context;
    const { width, height } = this.size;
    const ratio = this.ratio();
    const w = Math.round(width * ratio);
    const h = Math.round(height * ratio);
    if (canvas.width !== w || canvas.height !== h) {
      canvas.width = w;
      canvas.height = h;
      canvas.style.width = `${width}px`;
      canvas.style.height = `${height}px`;
    }
    return new CanvasSurface(context, ratio, this.pictures);
  }
}

/** Asked for once: fetching a canvas's context in every frame takes as long as a tenth of the drawing. */
function opaqueSheet(): CanvasRenderingContext2D {
  return document.createElement('canvas').getContext('2d', { alpha: false })!;
}

function labelsOf(recorder: StripModel['recorders'][number]): string[] {
  const { laneNames, raters } = recorder;
  const lanes = [laneNames?.detected ?? '', laneNames?.reviewed ?? '', laneNames?.interval ?? ''];
  if (raters) lanes.push(raters.above.name, raters.below.name, String(raters.settled));
  return [recorder.label, ...lanes, ...recorder.tracks.flatMap(t => [t.leadName, t.filteredNote ?? ''])];
}
