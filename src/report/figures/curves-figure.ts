import type { HrvCurves } from '../../core/report/hrv-effects';
import { seriesNames } from '../../core/report/hrv-series';
import { type Column, dataTable } from '../csv/column';
import { columnsWidthPx, type Figure, type FigureWidth, idFor } from './figure';
import { axisRange, frame, type LinearAxis, line, linearAxis, mark, path, placesOn, short, text } from './svg';

/** Two figures of five rows, in two columns, go on a page of A4 and of Letter. */
const plotHeight = 66;
const labelsHeight = 18;

interface Layout {
  readonly columns: FigureWidth;
  readonly keyHeight: number;
  readonly rowHeight: number;
  /** Rows that fit a page even when each has a time axis of its own. */
  readonly mostRows: number;
  readonly tachogramRight: number;
  /** Of the spectrum: beside the tachogram, or `drop` below it. */
  readonly left: number;
  readonly right: number;
  readonly drop: number;
}

const layouts: Readonly<Record<FigureWidth, Layout>> = {
  'two columns': {
    columns: 'two columns',
    keyHeight: 30,
    rowHeight: plotHeight,
    mostRows: 10,
    tachogramRight: 430,
    left: 506,
    right: 656,
    drop: 0,
  },
  'one column': {
    columns: 'one column',
    keyHeight: 62,
    rowHeight: 2 * plotHeight + labelsHeight,
    mostRows: 5,
    tachogramRight: 297,
    left: 46,
    right: 297,
    drop: plotHeight + labelsHeight,
  },
};
/** Rows whose lengths differ by less share a time axis, with numbers under the last row only. */
const sharedFrom = 0.8;

/** One row of the figure: its place, the end of its time axis, and which of its two axes have numbers. */
interface Row {
  readonly top: number;
  readonly endSeconds: number;
  readonly timed: boolean;
  readonly inHz: boolean;
}

function rowsOf(curves: readonly HrvCurves[], { keyHeight, rowHeight }: Layout): Row[] {
  const lengths = curves.map(c => c.lengthSeconds);
  const longest = Math.max(...lengths);
  const shared = Math.min(...lengths) >= sharedFrom * longest;
  const lastTimed = curves.findLastIndex(c => shownIntervals(c).length > 0);
  const lastInHz = curves.findLastIndex(c => highestDensity(c) > 0);
  return curves.map((c, i) => ({
    top: keyHeight + i * (rowHeight + (shared ? 0 : labelsHeight)),
    endSeconds: shared ? longest : c.lengthSeconds,
    timed: !shared || i === lastTimed,
    inHz: i === lastInHz,
  }));
}

/** The tachograms and spectra of all segments, by recording. */
export function curvesFigures(curves: readonly HrvCurves[], columns: FigureWidth = 'two columns'): Figure[] {
  const parts = byRecording(curves).flatMap(own => partsOf(own, layouts[columns]));
  return parts.map(({ curves: some, part }, i) => curvesFigure(some, i + 1, part, columns));
}

/** The segments of one recording, in even parts where they are too many for a page. */
function partsOf(curves: readonly HrvCurves[], { mostRows }: Layout): { curves: readonly HrvCurves[]; part: string }[] {
  const count = Math.ceil(curves.length / mostRows);
  if (count === 1) return [{ curves, part: '' }];
  return Array.from({ length: count }, (_, i) => {
    const cut = (k: number) => Math.round((k * curves.length) / count);
    const some = curves.slice(cut(i), cut(i + 1));
    return { curves: some, part: `, ${some[0]!.activity} to ${some.at(-1)!.activity}` };
  });
}

function byRecording(curves: readonly HrvCurves[]): HrvCurves[][] {
  const groups: HrvCurves[][] = [];
  for (const c of curves) {
    const last = groups.at(-1)?.[0];
    if (last?.volunteer === c.volunteer && last.recorder === c.recorder) groups.at(-1)!.push(c);
    else groups.push([c]);
  }
  return groups;
}

/**
 * Tachogram and spectrum of each segment of one recording, as detected under as reviewed. `part` names the segments
 * where a figure holds only some of them.
 */
export function curvesFigure(
  curves: readonly HrvCurves[],
  number: number,
  part = '',
  columns: FigureWidth = 'two columns',
): Figure {
  const layout = layouts[columns];
  const [first] = curves;
  const who = `${first!.volunteer}, ${first!.recorder}${part}`;
  const places = rowsOf(curves, layout);
  const rows = curves.map((c, i) => row(c, places[i]!, layout));
  const heightPx = places.at(-1)!.top + layout.rowHeight + labelsHeight;
  const [tachograms, spectra] = columns === 'one column' ? ['Upper plots', 'Lower plots'] : ['Left', 'Right'];
  return {
    id: idFor(`figure-curves-${number}`, columns),
    title: `Tachograms and spectra: ${who}`,
    legend: `${tachograms}: RR intervals over time; grey band as detected, thin line as reviewed, crosses left out as non-sinus, triangles: detected beyond the frame. ${spectra}: power density by Welch’s method in the same lines, dashed without non-sinus beats.`,
    description: `One row a segment. ${tachograms}: RR intervals in ms over time in s; grey band as detected, thin line as reviewed, crosses where a non-sinus beat is left out, triangles where a detected interval lies beyond the frame. ${spectra}: power density by Welch’s method over frequency, not drawn where it is beyond the frame. ${curves.map(inWords).join('; ')}. All values are in tachograms.csv and spectra.csv.`,
    drawing: { widthPx: columnsWidthPx[columns], heightPx, body: key(layout) + rows.join('') },
    data: dataTable('RR intervals of each series', seriesColumns, curves.flatMap(seriesOf)),
  };
}

interface DrawnSeries {
  readonly activity: string;
  readonly name: string;
  readonly intervals: number;
  readonly range: readonly [number, number] | null;
}

const seriesColumns: readonly Column<DrawnSeries>[] = [
  ['activity', 'text', s => s.activity, 'activity of the protocol'],
  ['series', 'text', s => s.name, 'detected, reviewed, or sinus: reviewed without beats that are not sinus'],
  ['intervals', 'count', s => s.intervals, 'RR intervals of the series'],
  ['shortest_rr_ms', 'ms', s => s.range?.[0] ?? null, 'shortest of them'],
  ['longest_rr_ms', 'ms', s => s.range?.[1] ?? null, 'longest of them'],
];

function seriesOf({ activity, tachogram: t }: HrvCurves): DrawnSeries[] {
  return seriesNames.map(name => {
    const { rrMs } = t[name];
    return { activity, name, intervals: rrMs.length, range: axisRange(rrMs, 0) };
  });
}

function inWords({ activity, tachogram, spectrum }: HrvCurves): string {
  const { detected, reviewed } = tachogram;
  return `${activity}: ${detected.rrMs.length} intervals as detected, ${reviewed.rrMs.length} as reviewed${spectrum.reviewed ? '' : ', no spectrum'}`;
}

function key({ columns }: Layout): string {
  const narrow = columns === 'one column';
  const [second, third] = narrow ? [16, 32] : [0, 0];
  const [cross, dash] = narrow ? [0, 0] : [218, 370];
  return (
    line(0, 8, 26, 8, { width: 3.2, opacity: 0.32 }) +
    text(31, 12, 'as detected') +
    line(110, 8, 136, 8, { width: 1 }) +
    text(141, 12, 'as reviewed') +
    mark('cross', cross + 8, 8 + second, 2.6) +
    text(cross + 16, 12 + second, 'left out as non-sinus') +
    line(dash, 8 + third, dash + 26, 8 + third, { width: 1, dash: '3 2' }) +
    text(dash + 31, 12 + third, 'spectrum without non-sinus beats')
  );
}

function shownIntervals({ tachogram: { detected, reviewed } }: HrvCurves): readonly number[] {
  return reviewed.rrMs.length > 0 ? reviewed.rrMs : detected.rrMs;
}

/** Highest density drawn whole, ms^2 / Hz; 0 where there is no spectrum. */
function highestDensity({ spectrum: s }: HrvCurves): number {
  const present = seriesNames.flatMap(name => s[name] ?? []);
  return Math.max(0, ...(s.reviewed ?? present[0] ?? { density: [] }).density);
}

function row(c: HrvCurves, { top, endSeconds, timed, inHz }: Row, layout: Layout): string {
  const { tachogramRight, drop } = layout;
  const title = c.activity;
  const bottom = top + plotHeight - 8;
  const range = axisRange(shownIntervals(c), 0.25);
  if (!range) return text(46, top + 40, `${title}: no interval`);
  const x = linearAxis(0, endSeconds, 46, tachogramRight, 6);
  const y = linearAxis(range[0], range[1], bottom, top + 14, 3);
  const unit = timed ? text(tachogramRight + 12, bottom + 13, 's', { size: 10 }) : '';
  const plot = frame(x, y, { x: timed ? '' : null, y: 'RR, ms', title }) + unit;
  return plot + tachogram(c, x, y) + spectrum(c, top + 14 + drop, bottom + drop, inHz, layout);
}

function tachogram({ tachogram: t }: HrvCurves, x: LinearAxis, y: LinearAxis): string {
  const { detected, reviewed, sinus } = t;
  const [ofDetected, ofReviewed] = [detected, reviewed].map(s => placed(s, x, y));
  let body = path(broken(ofDetected!), { width: 3.2, opacity: 0.32 });
  body += path(broken(ofReviewed!), { width: 0.7 });
  // Where none is left out the two are the same.
  const kept = sinus.seconds.length === reviewed.seconds.length ? null : new Set(sinus.seconds);
  for (let i = 0; kept && i < reviewed.seconds.length; i++) {
    if (!kept.has(reviewed.seconds[i]!)) body += mark('cross', ofReviewed!.xs[i]!, ofReviewed!.ys[i]!, 2);
  }
  for (let i = 0; i < detected.rrMs.length; i++) {
    const rr = detected.rrMs[i]!;
    if (rr < y.low || rr > y.high) body += mark('triangle', ofDetected!.xs[i]!, ofDetected!.ys[i]!, 1.8);
  }
  return body;
}

interface Intervals {
  readonly seconds: readonly number[];
  readonly rrMs: readonly number[];
}

interface PlacedIntervals extends Intervals {
  readonly xs: Float64Array;
  readonly ys: Float64Array;
}

function placed({ seconds, rrMs }: Intervals, x: LinearAxis, y: LinearAxis): PlacedIntervals {
  return { seconds, rrMs, xs: placesOn(x, seconds), ys: placesOn(y, rrMs) };
}

/** Lifts the pen where two intervals do not share a beat. */
function broken({ seconds, rrMs, xs, ys }: PlacedIntervals): string {
  let d = '';
  for (let i = 0; i < seconds.length; i++) {
    const joins = i > 0 && Math.abs(seconds[i]! - rrMs[i]! / 1000 - seconds[i - 1]!) < 0.002;
    d += `${joins ? 'L' : 'M'}${short(xs[i]!)} ${short(ys[i]!)}${joins ? '' : 'h0.01'}`;
  }
  return d || 'M0 0';
}

const inKey = { detected: 'as detected', reviewed: 'as reviewed', sinus: 'without non-sinus' };

/** A density that mistakes have raised far above the others is not squeezed into their frame: words say so. */
function spectrum(c: HrvCurves, top: number, bottom: number, inHz: boolean, { left, right }: Layout): string {
  const { spectrum: s } = c;
  const most = highestDensity(c);
  if (!(most > 0)) return text(left, (top + bottom) / 2, 'no spectrum: see the table', { size: 10 });
  const x = linearAxis(0, 0.4, left, right, 4);
  const y = linearAxis(0, most * 1.25, bottom, top, 3);
  let body = frame(x, y, { x: inHz ? '' : null, y: '' });
  body += text(left - 6, top - 4, 'ms²/Hz', { anchor: 'end', size: 9.5 });
  if (inHz) body += text(right + 11, bottom + 13, 'Hz', { anchor: 'start', size: 10 });
  const styles = { detected: { width: 3.2, opacity: 0.32 }, reviewed: { width: 1 }, sinus: { width: 1, dash: '3 2' } };
  const beyond: string[] = [];
  for (const name of seriesNames) {
    const one = s[name];
    if (!one) continue;
    const inside = one.density.map(v => v <= y.high);
    const d = one.frequenciesHz.map((f, i) =>
      inside[i] ? `${inside[i - 1] ? 'L' : 'M'}${short(x.at(f))} ${short(y.at(one.density[i]!))}` : '',
    );
    if (inside.includes(false)) beyond.push(inKey[name]);
    body += path(d.join('') || 'M0 0', styles[name]);
  }
  if (beyond.length > 0) {
    body += text(right, top - 4, `${beyond.join(', ')}: beyond the frame`, { anchor: 'end', size: 9.5 });
  }
  return body;
}
