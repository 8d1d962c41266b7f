import uPlot from 'uplot';
import type { Palette } from '../paint/palette';
import type { TraceWindow } from './window';

/**
 * One trace line: a uPlot without axes, cursor or legend, fed only the visible columns. The line is exactly one device
 * pixel wide: anything wider costs tens of milliseconds of rasterising a frame.
 */
export class TracePlot {
  private readonly plot: uPlot;
  private window: TraceWindow;
  private top = 0;
  private left = 0;
  private range: [number, number] = [0, 1];
  private x = new Float64Array(0);

  constructor(host: HTMLElement, width: number, height: number, window: TraceWindow, palette: () => Palette) {
    this.window = window;
    const hidden = { show: false };
    this.plot = new uPlot(
      {
        width,
        height,
        padding: [0, 0, 0, 0],
        cursor: hidden,
        legend: hidden,
        axes: [hidden, hidden],
        scales: { x: { time: false, range: () => this.range }, y: { auto: false, range: [0, 1] } },
        series: [
          {},
          {
            stroke: () => palette().trace,
            width: 1 / devicePixelRatio,
            points: hidden,
            paths: () => ({ stroke: this.path() }),
          },
        ],
      },
      [[], []],
      host,
    );
  }

  resize(width: number, height: number): void {
    if (this.plot.width !== width || this.plot.height !== height) this.plot.setSize({ width, height });
  }

  /** Draws the window; `left` and `top` are the band's corner in the chart, CSS pixels. */
  draw(window: TraceWindow, left: number, top: number): void {
    this.window = window;
    this.left = left;
    this.top = top;
    const n = window.count;
    if (this.x.length < n) this.x = new Float64Array(Math.ceil(n * 1.25));
    for (let i = 0; i < n; i++) this.x[i] = window.firstX + i * window.stepX;
    this.range = [left, left + this.plot.width];
    this.plot.batch(() => {
      this.plot.setData([this.x.subarray(0, n), window.max.subarray(0, n)], false);
      this.plot.setScale('x', { min: this.range[0], max: this.range[1] });
    });
  }

  destroy(): void {
    this.plot.destroy();
  }

  private path(): Path2D {
    return this.window.perSample ? this.throughSamples() : this.throughColumns();
  }

  private throughSamples(): Path2D {
    const path = new Path2D();
    const { count, firstX, stepX, max, gain } = this.window;
    const r = devicePixelRatio;
    const x0 = (firstX - this.left) * r;
    const dx = stepX * r;
    const y0 = (gain.baseY - this.top + gain.baseMv * gain.pxPerMv) * r;
    const dy = gain.pxPerMv * r;
    let drawing = false;
    for (let i = 0; i < count; i++) {
      const mv = max[i]!;
      if (Number.isNaN(mv)) drawing = false;
      else if (drawing) path.lineTo(x0 + i * dx, y0 - mv * dy);
      else {
        path.moveTo(x0 + i * dx, y0 - mv * dy);
        drawing = true;
      }
    }
    return path;
  }

  /** Down and up the columns in turn, so neighbours join at the near end. */
  private throughColumns(): Path2D {
    const path = new Path2D();
    const { count, firstX, stepX, min, max, gain } = this.window;
    const r = devicePixelRatio;
    const x0 = (firstX - this.left) * r;
    const dx = stepX * r;
    const y0 = (gain.baseY - this.top + gain.baseMv * gain.pxPerMv) * r;
    const dy = gain.pxPerMv * r;
    let drawing = false;
    for (let i = 0; i < count; i++) {
      const lo = min[i]!;
      const hi = max[i]!;
      if (Number.isNaN(lo)) {
        drawing = false;
        continue;
      }
      const x = x0 + i * dx;
      const near = (i & 1) === 0 ? hi : lo;
      if (drawing) path.lineTo(x, y0 - near * dy);
      else path.moveTo(x, y0 - near * dy);
      path.lineTo(x, y0 - (near === hi ? lo : hi) * dy);
      drawing = true;
    }
    return path;
  }
}
