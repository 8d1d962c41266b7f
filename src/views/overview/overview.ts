import './overview.css';
import { FrameLoop } from '../strip-chart/frame';
import { type Palette, readPalette } from '../strip-chart/paint/palette';
import { CanvasSurface } from '../strip-chart/paint/surface';
import { Pictures } from '../strip-chart/pictures';
import {
  framePx,
  type OverviewLayout,
  type OverviewRow,
  overviewLayout,
  overviewSecondsAt,
  rowAt,
} from './overview-layout';
import { type OverviewModel, paintOverview } from './paint-overview';

/** What the strip shows now, seconds on the recording's clock. */
export interface OverviewWindow {
  /** One, or one for each row where the rows are apart in time. */
  readonly shown: readonly { readonly startSeconds: number; readonly endSeconds: number }[];
  readonly caretSeconds: number | null;
}

export interface OverviewPicked {
  readonly sec: number;
  readonly row: OverviewRow;
  /** Whether the point lies on the frame of the visible window. */
  readonly onFrame: boolean;
  /** Index of the segment under the point, null between segments. */
  readonly segmentIndex: number | null;
}

/** A map that takes longer than this to paint waits until the keys have rested, so that no key waits for it. */
const cheapPaintMs = 3;
const restMs = 200;

/** The map of the whole recording: painted once per change of the facts; a pan moves only the frame above it. */
export class Overview {
  private readonly host: HTMLElement;
  private readonly map = document.createElement('canvas');
  private readonly pictures = new Pictures();
  private readonly cursor = document.createElement('canvas');
  private readonly frames = new FrameLoop(() => this.draw());
  private readonly observer: ResizeObserver;
  private model: OverviewModel | null = null;
  private window: OverviewWindow = { shown: [], caretSeconds: null };
  private draft: { startSeconds: number; endSeconds: number } | null = null;
  private palette: Palette;
  private theme = '';
  private textScale = 1;
  private layout: OverviewLayout = overviewLayout(1, 1, 1);
  private mapIsOld = true;
  /** What the last painting of the map took. */
  private paintMs = 0;

  constructor(host: HTMLElement) {
    this.host = host;
    host.classList.add('overview');
    host.append(this.map, this.cursor);
    this.palette = readPalette(host);
    this.observer = new ResizeObserver(() => this.repaint());
    this.observer.observe(host);
  }

  /** A new object means that something changed; the same object costs nothing. */
  setModel(model: OverviewModel): void {
    if (model === this.model) return;
    const isFirst = this.model === null;
    this.model = model;
    if (isFirst || this.paintMs <= cheapPaintMs) this.repaint();
    else this.frames.askLater(restMs, () => (this.mapIsOld = true));
  }

  setWindow(window: OverviewWindow): void {
    this.window = window;
    this.frames.ask();
  }

  setLook(theme: string, textScale: number): void {
    if (theme === this.theme && textScale === this.textScale) return;
    this.theme = theme;
    this.textScale = textScale;
    this.palette = readPalette(this.host);
    this.repaint();
  }

  /** A segment being drawn; null when done. */
  showDraft(draft: { startSeconds: number; endSeconds: number } | null): void {
    this.draft = draft;
    this.frames.ask();
  }

  pick(clientX: number, clientY: number): OverviewPicked | null {
    if (!this.model) return null;
    const box = this.host.getBoundingClientRect();
    const x = clientX - box.left;
    const sec = overviewSecondsAt(this.layout, this.duration(), x);
    const { recorder } = this.model;
    const sample = sec * recorder.samplingRateHz;
    const index = recorder.segments.findIndex(s => s.start <= sample && sample < s.end);
    const frames = this.window.shown.map(w => framePx(this.layout, this.duration(), w));
    return {
      sec,
      row: rowAt(this.layout, clientY - box.top),
      onFrame: frames.some(f => x >= f.left && x <= f.right),
      segmentIndex: index === -1 ? null : index,
    };
  }

  whenIdle(): Promise<void> {
    return this.frames.whenIdle();
  }

  destroy(): void {
    this.observer.disconnect();
    this.frames.stop();
    this.host.replaceChildren();
    this.host.classList.remove('overview');
  }

  private duration(): number {
    const recorder = this.model?.recorder;
    return recorder ? recorder.sampleCount / recorder.samplingRateHz : 1;
  }

  private repaint(): void {
    this.mapIsOld = true;
    this.frames.ask();
  }

  private draw(): void {
    const width = this.host.clientWidth;
    const height = this.host.clientHeight;
    if (!this.model || width === 0 || height === 0) return;
    if (this.mapIsOld) {
      this.mapIsOld = false;
      const before = performance.now();
      this.layout = overviewLayout(width, height, this.textScale);
      paintOverview({
        surface: this.surfaceFor(this.map, width, height),
        palette: this.palette,
        model: this.model,
        layout: this.layout,
        textScale: this.textScale,
        devicePixelRatio,
      });
      this.paintMs = performance.now() - before;
    }
    this.drawCursor(this.surfaceFor(this.cursor, width, height));
  }

  private drawCursor(surface: CanvasSurface): void {
    const { coverage, segments } = this.layout;
    const top = segments.top + segments.height;
    const bottom = coverage.top + coverage.height;
    for (const shown of this.window.shown) this.drawFrame(surface, shown, top, bottom);
    if (this.window.caretSeconds !== null) this.drawCaret(surface, this.window.caretSeconds, top, bottom);
    if (this.draft) this.drawDraft(surface, this.draft);
  }

  /** The frame of what is shown: upright bars with feet turned inwards, so that it reads as a bracket. */
  private drawFrame(surface: CanvasSurface, shown: OverviewWindow['shown'][number], top: number, bottom: number): void {
    const { left, right } = framePx(this.layout, this.duration(), shown);
    surface.boxes([left, top, right - left, bottom - top], this.palette.accent, 0.1);
    const foot = Math.min(5, (right - left) / 2);
    const bars = [left, top, left, bottom, right, top, right, bottom];
    bars.push(left, top, left + foot, top, left, bottom, left + foot, bottom);
    bars.push(right - foot, top, right, top, right - foot, bottom, right, bottom);
    surface.lines(bars, { colour: this.palette.ink, width: 2 });
  }

  private drawCaret(surface: CanvasSurface, sec: number, top: number, bottom: number): void {
    const x = this.layout.gutterPx + (sec / this.duration()) * this.layout.plotWidthPx;
    surface.lines([x, top, x, bottom], { colour: this.palette.ink });
    surface.shape([x - 4, bottom, x, bottom - 5, x + 4, bottom], this.palette.ink);
  }

  private drawDraft(surface: CanvasSurface, draft: { startSeconds: number; endSeconds: number }): void {
    const { left, right } = framePx(this.layout, this.duration(), draft, 1);
    const { top, height } = this.layout.segments;
    surface.boxes([left, top + 2, right - left, height - 3], this.palette.accentWash);
    const bottom = this.layout.coverage.top;
    surface.lines([left, top, left, bottom, right, top, right, bottom], { colour: this.palette.accent, dash: [4, 3] });
  }

  private surfaceFor(canvas: HTMLCanvasElement, width: number, height: number): CanvasSurface {
    const context = canvas.getContext('2d')!;
    canvas.width = Math.round(width * devicePixelRatio);
    canvas.height = Math.round(height * devicePixelRatio);
    canvas.style.width = `${width}px`;
    canvas.style.height = `${height}px`;
    return new CanvasSurface(context, devicePixelRatio, this.pictures);
  }
}
