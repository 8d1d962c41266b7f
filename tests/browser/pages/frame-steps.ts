import { cssPxPerMm } from '../../../src/core/units';
import '../../../src/views/paper.css';
import uPlot from 'uplot';
import { match } from '../../../src/core/marks/match';
import { markVerdicts } from '../../../src/core/marks/verdicts';
import { type StripModel, type StripRecorder, sameClock } from '../../../src/views/strip-chart/model';
import { StripChart } from '../../../src/views/strip-chart/strip-chart';
import { recorderOf, stage } from './staged';

export interface Pan {
  /** Main-thread ms of each frame's callbacks, reading the columns and drawing them: median, in each turn of frames. */
  readonly turnsMs: readonly number[];
  readonly medianMs: number;
  /** Frames that came more than one and a half frames after the one before. */
  readonly late: number;
}

/** Something to pan, drawn in the frame after it was asked to; only one is visible at a time. */
interface Panned {
  readonly element: HTMLElement;
  show(frame: number): void;
  end(): void;
}

const size = { width: 1600, height: 400 };
/** Frames counted of each, taken in turns so that a busy moment of the machine hits all; the first of a turn warm up. */
const turns = 6;
const framesATurn = 40;
const warmUp = 6;
const frameMs = 1000 / 60;
const stepPx = 3;
/** The pan turns round after so many frames, so that a day's window stays inside the recording. */
const turnAfter = 40;

function offsetPx(frame: number): number {
  const at = frame % (2 * turnAfter);
  return stepPx * (at < turnAfter ? at : 2 * turnAfter - at);
}

let kept: { hours: number; model: StripModel } | null = null;

/** One staged hour, over and over. */
function modelOf(hours: number): StripModel {
  if (kept?.hours === hours) return kept.model;
  const hour = stage('long', 'adhesive logger', 250, 3600, ['II'], 5);
  const { words, name } = hour.leads[0]!;
  const many = new Int16Array(hours * words.length);
  const beats = new Int32Array(hours * hour.beats.length);
  for (let h = 0; h < hours; h++) {
    many.set(words, h * words.length);
    for (let k = 0; k < hour.beats.length; k++) beats[h * hour.beats.length + k] = hour.beats[k]! + h * words.length;
  }
  const recorder = recorderOf({ ...hour, leads: [{ name, words: many }], beats }, [0], sameClock);
  kept = { hours, model: { recorders: [{ ...recorder, suggestions: [], notes: [] }] } };
  return kept.model;
}

function withoutMarks(recorder: StripRecorder): StripRecorder {
  const none = new Int32Array(0);
  return {
    ...recorder,
    detected: none,
    reviewed: none,
    verdicts: markVerdicts(match(none, none, [], 250), none, none),
    selected: null,
  };
}

function host(): HTMLElement {
  const element = document.createElement('div');
  element.style.cssText = `position:absolute;left:0;top:0;width:${size.width}px;height:${size.height}px;visibility:hidden`;
  document.body.append(element);
  document.body.style.margin = '0';
  return element;
}

async function strip(model: StripModel, windowSeconds: number): Promise<Panned> {
  const element = host();
  const chart = new StripChart(element);
  chart.setModel(model);
  const mmPerSecond = chart.plotWidthPx() / windowSeconds / cssPxPerMm;
  const view = { mmPerSecond, mmPerMv: 10, pxPerMm: cssPxPerMm, rows: 1, devicePixelRatio, theme: 'light' };
  const show = (frame: number) =>
    chart.setView({ ...view, startSeconds: 40 + offsetPx(frame) / (mmPerSecond * cssPxPerMm) });
  show(0);
  await chart.whenIdle();
  const end = () => {
    chart.destroy();
    element.remove();
  };
  return { element, show, end };
}

/** The strip over a window of so many seconds, in turn with a bare uPlot of its trace band fed the same columns. */
export async function panAgainstBare(windowSeconds: number, hours: number): Promise<{ strip: Pan; bare: Pan }> {
  const model = modelOf(hours);
  const full = await strip(model, windowSeconds);
  const band = full.element.querySelector<HTMLElement>('.strip-band')!;
  const bare = bareUPlot(model.recorders[0]!, windowSeconds, band.clientWidth, band.clientHeight);
  const [ours, plain] = await inTurn([full, bare]);
  return { strip: ours!, bare: plain! };
}

/** The strip with its marks, in turn with the strip without any. */
export async function panWithAndWithoutMarks(
  windowSeconds: number,
  hours: number,
): Promise<{ marked: Pan; blank: Pan }> {
  const model = modelOf(hours);
  const [marked, blank] = await inTurn([
    await strip(model, windowSeconds),
    await strip({ recorders: model.recorders.map(withoutMarks) }, windowSeconds),
  ]);
  return { marked: marked!, blank: blank! };
}

/** The same window in a long recording, in turn with a short one. */
export async function panLongAndShort(
  windowSeconds: number,
  long: number,
  short: number,
): Promise<{ long: Pan; short: Pan }> {
  const shortModel = modelOf(short);
  const both = [await strip(modelOf(long), windowSeconds), await strip(shortModel, windowSeconds)];
  const [ofLong, ofShort] = await inTurn(both);
  return { long: ofLong!, short: ofShort! };
}

/** Marks in a window that starts at 40 s. */
export function marksIn(windowSeconds: number, hours: number): number {
  const { reviewed, samplingRateHz } = modelOf(hours).recorders[0]!;
  return reviewed.filter(m => m >= 40 * samplingRateHz && m < (40 + windowSeconds) * samplingRateHz).length;
}

function bareUPlot(recorder: StripRecorder, windowSeconds: number, width: number, height: number): Panned {
  const track = recorder.tracks[0]!;
  const pixels = Math.round(width * devicePixelRatio);
  const samples = windowSeconds * track.samplingRateHz;
  const count = samples <= 3 * pixels ? Math.round(samples) : pixels;
  const perSample = count !== pixels;
  const out = { min: new Float32Array(count), max: new Float32Array(count) };
  const length = perSample ? count : 2 * count;
  const x = new Float64Array(length);
  const y = new Float32Array(length);
  let range: [number, number] = [0, windowSeconds];
  const hidden = { show: false };
  const element = host();
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
    element,
  );
  const draw = (frame: number) => {
    const step = windowSeconds / count;
    const startSeconds = Math.round((40 + (offsetPx(frame) * windowSeconds) / width) / step) * step;
    track.columns(startSeconds, startSeconds + windowSeconds, count, out);
    for (let i = 0; i < count; i++) {
      if (perSample) {
        x[i] = startSeconds + i * step;
        y[i] = out.max[i]!;
      } else {
        x[2 * i] = x[2 * i + 1] = startSeconds + i * step;
        y[2 * i] = out.min[i]!;
        y[2 * i + 1] = out.max[i]!;
      }
    }
    range = [startSeconds, startSeconds + windowSeconds];
    plot.batch(() => {
      plot.setData([x, y], false);
      plot.setScale('x', { min: range[0], max: range[1] });
    });
  };
  const end = () => {
    plot.destroy();
    element.remove();
  };
  return { element, show: frame => requestAnimationFrame(() => draw(frame)), end };
}

/** A page that draws nothing: how many frames the machine itself makes late. */
export async function panNothing(): Promise<Pan> {
  const element = host();
  const [idle] = await inTurn([{ element, show: () => requestAnimationFrame(() => {}), end: () => element.remove() }]);
  return idle!;
}

async function inTurn(panned: readonly Panned[]): Promise<Pan[]> {
  const found = panned.map(() => ({ turnsMs: [] as number[], late: 0 }));
  for (let turn = 0; turn < turns; turn++) {
    for (const [i, { element, show }] of panned.entries()) {
      element.style.visibility = 'visible';
      const { medianMs, late } = await timeFrames(show, turn * framesATurn);
      element.style.visibility = 'hidden';
      found[i]!.turnsMs.push(medianMs);
      found[i]!.late += late;
    }
  }
  for (const { end } of panned) end();
  return found.map(({ turnsMs, late }) => ({ turnsMs, late, medianMs: median(turnsMs) }));
}

/** Calls `show` once a frame; what it asks to draw runs in the following frame callback, whose time is taken. */
async function timeFrames(show: (frame: number) => void, first: number): Promise<{ medianMs: number; late: number }> {
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
        if (frame === framesATurn + warmUp) return resolve();
        show(first + frame);
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
  const counted = stamps.slice(warmUp - 1);
  const late = counted.filter((t, i) => i > 0 && t - counted[i - 1]! > 1.5 * frameMs).length;
  return { medianMs: median(times.slice(warmUp)), late };
}

function median(values: readonly number[]): number {
  return [...values].sort((a, b) => a - b)[values.length >> 1]!;
}
