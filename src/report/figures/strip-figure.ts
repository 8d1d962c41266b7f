import type { DrawnStrip } from '../../core/report/example-strips';
import { type Column, dataTable } from '../csv/column';
import { mistakeNames } from '../csv/mistake-names';
import { type Figure, type FigureWidth, idFor } from './figure';
import { box, line, path, pxPerMm, short, text } from './svg';

const mmPerMv = 10;

interface Paper {
  readonly mmPerSecond: number;
  /** Where the trace begins, in px. */
  readonly left: number;
  /** The names of the lanes stand before them, or above. */
  readonly laneHeight: number;
  readonly ticksFrom: number;
}

/** Eight seconds fill the width. */
const papers: Readonly<Record<FigureWidth, Paper>> = {
  'two columns': { mmPerSecond: 20, left: 70, laneHeight: 17, ticksFrom: 2 },
  'one column': { mmPerSecond: 10, left: 6, laneHeight: 31, ticksFrom: 15 },
};

interface MarkInStrip {
  readonly what: string;
  readonly second: number;
}

const markColumns: readonly Column<MarkInStrip>[] = [
  ['mark', 'text', m => m.what, 'detected, reviewed, or an end of an unreadable stretch'],
  ['second_of_strip', 'seconds', m => m.second, 'its place, from the start of the strip'],
];

function marksIn({ detectedSeconds, reviewedSeconds, unreadableSeconds }: DrawnStrip): MarkInStrip[] {
  return [
    ...detectedSeconds.map(second => ({ what: 'detected', second })),
    ...reviewedSeconds.map(second => ({ what: 'reviewed', second })),
    ...unreadableSeconds.flatMap(([from, to]) => [
      { what: 'unreadable from', second: from },
      { what: 'unreadable to', second: to },
    ]),
  ];
}

/** An example strip on ECG paper: the trace, and below it the marks as detected and as reviewed. */
export function stripFigure(strip: DrawnStrip, number: number, columns: FigureWidth = 'two columns'): Figure {
  const paper = papers[columns];
  const { mmPerSecond, left, laneHeight } = paper;
  const seconds = (strip.end - strip.start) / strip.samplingRateHz;
  const right = left + seconds * mmPerSecond * pxPerMm;
  const x = (s: number) => left + s * mmPerSecond * pxPerMm;
  const [low, high] = span(strip.millivolts);
  const mm = Math.ceil((high - low) * mmPerMv) + 4;
  const traceTop = 4;
  const traceBottom = traceTop + mm * pxPerMm;
  const y = (mv: number) => traceBottom - ((mv - low) * mmPerMv + 2) * pxPerMm;
  let body = grid(left, right, traceTop, traceBottom);
  body +=
    strip.millivolts.length > 0 ? trace(strip, x, y) : text(left + 8, traceTop + 20, 'the signal is not stored here');
  const lanes = traceBottom + 8;
  const bottom = lanes + 2 * laneHeight;
  body += lane('detected', strip.detectedSeconds, x, lanes, paper);
  body += lane('reviewed', strip.reviewedSeconds, x, lanes + laneHeight, paper);
  body += unreadable(strip, x, traceTop, bottom);
  body += line(left, bottom, right, bottom, { width: 0.6 });
  body += text(
    left,
    bottom + 15,
    `${mmPerSecond} mm/s, ${mmPerMv} mm/mV${columns === 'one column' ? '' : ', as recorded'}; small box ${1000 / mmPerSecond} ms by 0.1 mV`,
    { size: 10 },
  );
  const kinds = strip.kinds.map(k => mistakeNames[k]).join(', ') || 'no mistake';
  const place = `${strip.volunteer}, ${strip.recorder}${strip.leadName ? `, lead ${strip.leadName}` : ''}${strip.activity ? `, ${strip.activity}` : ''}`;
  return {
    id: idFor(`figure-example-${number}`, columns),
    title: `Example: ${kinds} (${place}, ${(strip.start / strip.samplingRateHz).toFixed(1)} s)`,
    legend:
      'ECG, and below it a tick for each mark as detected and as reviewed; grey and hatched: unreadable or no signal.',
    description: `${seconds.toFixed(0)} s of ECG with ${strip.detectedSeconds.length} detected and ${strip.reviewedSeconds.length} reviewed marks. Comment of ${strip.rater}: ${strip.comment || 'none'}`,
    drawing: { widthPx: right + 4, heightPx: bottom + 22, body },
    data: dataTable('marks in the strip', markColumns, marksIn(strip)),
  };
}

/** Lowest and highest mV, at least 1 mV apart, at most 4. */
function span(mv: readonly number[]): readonly [number, number] {
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  for (const v of mv) {
    low = Math.min(low, v);
    high = Math.max(high, v);
  }
  if (!(high >= low)) return [-0.5, 0.5];
  const middle = (low + high) / 2;
  const half = Math.min(2, Math.max(0.5, (high - low) / 2));
  return [middle - half, middle + half];
}

function grid(x0: number, x1: number, y0: number, y1: number): string {
  const rules = (step: number) => {
    let d = '';
    for (let x = x0; x <= x1 + 0.01; x += step) d += `M${short(x)} ${short(y0)}V${short(y1)}`;
    for (let y = y1; y >= y0 - 0.01; y -= step) d += `M${short(x0)} ${short(y)}H${short(x1)}`;
    return d;
  };
  return path(rules(pxPerMm), { width: 0.3, opacity: 0.18 }) + path(rules(5 * pxPerMm), { width: 0.5, opacity: 0.32 });
}

function trace(
  { millivolts, start, end, samplingRateHz }: DrawnStrip,
  x: (s: number) => number,
  y: (mv: number) => number,
): string {
  const step = (end - start) / samplingRateHz / millivolts.length;
  const top = 4;
  const d = millivolts.map((mv, i) => `${i === 0 ? 'M' : 'L'}${short(x(i * step))} ${short(Math.max(top, y(mv)))}`);
  return path(d.join(''), { width: 0.9 });
}

function lane(
  name: string,
  marks: readonly number[],
  x: (s: number) => number,
  top: number,
  { left, ticksFrom }: Paper,
): string {
  const d = marks.map(s => `M${short(x(s))} ${short(top + ticksFrom)}v13`).join('');
  return (
    text(0, top + 12, name) +
    line(left, top, x(8), top, { width: 0.4, opacity: 0.5 }) +
    (d ? path(d, { width: 1.6 }) : '')
  );
}

function unreadable({ unreadableSeconds }: DrawnStrip, x: (s: number) => number, top: number, bottom: number): string {
  return unreadableSeconds
    .map(([from, to]) => {
      let d = '';
      for (let at = x(from); at < x(to); at += 6)
        d += `M${short(at)} ${short(bottom)}L${short(Math.min(x(to), at + 8))} ${short(bottom - 10)}`;
      return (
        box(x(from), top, x(to) - x(from), bottom - top, 'currentColor', 0.1, false) + path(d || 'M0 0', { width: 0.8 })
      );
    })
    .join('');
}
