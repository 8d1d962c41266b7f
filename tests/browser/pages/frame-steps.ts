import '../../../src/views/paper.css';
import uPlot from 'uplot';
import { verdicts } from '../../../src/core/marks/verdicts';
import { cssPxPerMm, type StripModel, type StripRecorder, sameClock } from '../../../src/views/strip-chart/model';
import { StripChart } from '../../../src/views/strip-chart/strip-chart';
import { recorderOf, stage } from './staged';

export interface Pan {
  /** Main-thread ms of each frame's callbacks: reading the columns and drawing them. */
  readonly medianMs: number;
  readonly p95Ms: number;
  /** Frames that came more than one and a half frames after the one before. */
  readonly late: number;
}

const size = { width: 1600, height: 400 };
const frameCount = 240;
const frameMs = 1000 / 60;
const stepPx = 3;
/** The pan turns round after so many frames, so that a day's window stays inside the recording. */
const turnAfter = 40;

function offsetPx(frame: number): number {
  const at = frame % (2 * turnAfter);
  return stepPx * (at < turnAfter ? at : 2 * turnAfter - at);
}

let kept: { hours: number; model: StripModel } | null = null;

function modelOf(hours: number): StripModel {
  if (kept?.hours === hours) return kept.model;
  const recorder = recorderOf(stage('long', 'adhesive logger', 250, hours * 3600, ['II'], 5), [0], sameClock);
  kept = { hours, model: { recorders: [{ ...recorder, ghosts: [], notes: [] }] } };
  return kept.model;
}

function withoutMarks(recorder: StripRecorder): StripRecorder {
  const none = new Int32Array(0);
  return { ...recorder, detected: none, reviewed: none, verdicts: verdicts(none, none, [], 250), selected: null };
}

function host(): HTMLElement {
  const element = document.createElement('div');
  element.style.width = `${size.width}px`;
  element.style.height = `${size.height}px`;
  document.body.replaceChildren(element);
  document.body.style.margin = '0';
  return element;
}

/** Pans the strip over a window of so many seconds, with or without its marks. */
export async function panStrip(windowSec: number, hours: number, withMarks = true): Promise<Pan> {
  const whole = modelOf(hours);
  const model = withMarks ? whole : { recorders: whole.recorders.map(withoutMarks) };
  const chart = new StripChart(host());
  chart.setModel(model);
  const mmPerSecond = chart.plotWidthPx() / windowSec / cssPxPerMm;
  const show = (frame: number) => {
    const startSec = 40 + offsetPx(frame) / (mmPerSecond * cssPxPerMm);
    chart.setView({
      startSec,
      mmPerSecond,
      mmPerMv: 10,
      pxPerMm: cssPxPerMm,
      rows: 1,
      devicePixelRatio,
      theme: 'light',
    });
  };
  show(0);
  await chart.whenIdle();
  const pan = await timeFrames(show);
  chart.destroy();
  return pan;
}

/** Marks in a window that starts at 40 s. */
export function marksIn(windowSec: number, hours: number): number {
  const { reviewed, samplingRateHz } = modelOf(hours).recorders[0]!;
  return reviewed.filter(m => m >= 40 * samplingRateHz && m < (40 + windowSec) * samplingRateHz).length;
}

/** A bare uPlot of the strip's trace band, fed the same columns as one line through min and max. */
export async function panBare(windowSec: number, hours: number): Promise<Pan> {
  const recorder = modelOf(hours).recorders[0]!;
  const chart = new StripChart(host());
  chart.setModel({ recorders: [recorder] });
  const width = chart.plotWidthPx();
  await chart.whenIdle();
  const height = document.querySelector<HTMLElement>('.strip-band')!.clientHeight;
  chart.destroy();
  return panPlot(recorder, windowSec, width, height);
}

async function panPlot(recorder: StripRecorder, windowSec: number, width: number, height: number): Promise<Pan> {
  const track = recorder.tracks[0]!;
  const pixels = Math.round(width * devicePixelRatio);
  const samples = windowSec * track.samplingRateHz;
  const count = samples <= 3 * pixels ? Math.round(samples) : pixels;
  const perSample = count !== pixels;
  const out = { min: new Float32Array(count), max: new Float32Array(count) };
  const length = perSample ? count : 2 * count;
  const x = new Float64Array(length);
  const y = new Float32Array(length);
  let range: [number, number] = [0, windowSec];
  const hidden = { show: false };
  const plot = new uPlot(
    {
      width,
      height,
      cursor: hidden,
      legend: hidden,
      axes: [hidden, hidden],
      scales: { x: { time: false, range: () => range }, y: { auto: false, range: [-2.5, 4.5] } },
      series: [{}, { stroke: '#122044', width: 1 / devicePixelRatio, points: hidden }],
    },
    [x, y],
    host(),
  );
  const pan = await timeFrames(frame => {
    const step = windowSec / count;
    const startSec = Math.round((40 + (offsetPx(frame) * windowSec) / width) / step) * step;
    requestAnimationFrame(() => {
      track.columns(startSec, startSec + windowSec, count, out);
      for (let i = 0; i < count; i++) {
        if (perSample) {
          x[i] = startSec + i * step;
          y[i] = out.max[i]!;
        } else {
          x[2 * i] = x[2 * i + 1] = startSec + i * step;
          y[2 * i] = out.min[i]!;
          y[2 * i + 1] = out.max[i]!;
        }
      }
      range = [startSec, startSec + windowSec];
      plot.batch(() => {
        plot.setData([x, y], false);
        plot.setScale('x', { min: range[0], max: range[1] });
      });
    });
  });
  plot.destroy();
  return pan;
}

/** A page that draws nothing: how many frames the machine itself makes late. */
export async function panNothing(): Promise<Pan> {
  host();
  return timeFrames(() => requestAnimationFrame(() => {}));
}

/** Calls `ask` once a frame; what it asks to draw runs in the following frame callback, whose time is taken. */
async function timeFrames(ask: (frame: number) => void): Promise<Pan> {
  const plain = window.requestAnimationFrame.bind(window);
  const times: number[] = [];
  window.requestAnimationFrame = callback =>
    plain(now => {
      const before = performance.now();
      callback(now);
      times.push(performance.now() - before);
    });
  const stamps: number[] = [];
  try {
    await new Promise<void>(resolve => {
      const next = (frame: number) => {
        if (frame === frameCount + warmUp) return resolve();
        ask(frame);
        plain(now => {
          stamps.push(now);
          next(frame + 1);
        });
      };
      next(0);
    });
  } finally {
    window.requestAnimationFrame = plain;
  }
  const measured = times.slice(warmUp).sort((a, b) => a - b);
  const late = stamps.slice(warmUp).filter((t, i, all) => i > 0 && t - all[i - 1]! > 1.5 * frameMs).length;
  return { medianMs: measured[measured.length >> 1]!, p95Ms: measured[Math.floor(measured.length * 0.95)]!, late };
}

const warmUp = 20;
