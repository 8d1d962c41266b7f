import { amount } from '../../core/amount';
import type { HrvEffect } from '../../core/report/hrv-effects';
import { measureOf } from '../../core/report/hrv-measures';
import type { ReportData } from '../../core/report/report';
import { type Column, dataTable } from '../csv/column';
import { columnsWidthPx, type Figure, type FigureWidth, idFor, type PanelPlace, panelPlaces } from './figure';
import { axisRange, frame, line, linearAxis, logAxis, mark, shapeFor, shapeKey, text } from './svg';

const panelHeight = 274;
/** Measures drawn, and whether their axes are logarithmic: mistakes multiply them. */
const drawn = [
  ['meanHeartRate', false],
  ['sdnn', true],
  ['rmssd', true],
  ['lombHf', true],
] as const;

/** As detected over as reviewed, a mark for each segment: on the line, the mistakes change nothing. */
export function hrvFigure(data: ReportData, columns: FigureWidth = 'two columns'): Figure {
  const widthPx = columnsWidthPx[columns];
  const key = shapeKey(data.activities, 0, 12, widthPx);
  const { places, bottom } = panelPlaces(columns, drawn.length, panelHeight, key.heightPx + 22);
  const panels = drawn.map(([measure, log], i) => panel(data, measure, log, places[i]!));
  return {
    id: idFor('figure-hrv', columns),
    title: 'Heart rate and HRV as detected and as reviewed',
    legend:
      'A mark for each volunteer, recorder and segment, its shape by activity. Dotted line: both the same. Axes of SDNN, RMSSD and HF are logarithmic.',
    description: `A mark for each volunteer, recorder and segment; on the slanted line both agree. ${drawn.map(([m]) => inWords(data.hrv.effects, m)).join(' ')}`,
    drawing: { widthPx, heightPx: bottom, body: key.body + panels.join('') },
    data: dataTable(
      'hrv.csv, segments with a value both ways',
      pointColumns,
      drawn.flatMap(([m]) => pointsOf(data.hrv.effects, m)),
    ),
  };
}

interface Point {
  readonly key: string;
  readonly volunteer: string;
  readonly recorder: string;
  readonly activity: string;
  readonly detected: number;
  readonly reviewed: number;
}

const pointColumns: readonly Column<Point>[] = [
  ['measure', 'text', p => measureOf(p.key).label, 'heart rate or HRV measure'],
  ['unit', 'text', p => measureOf(p.key).unit, 'unit of the measure'],
  ['volunteer', 'text', p => p.volunteer, 'code of the volunteer'],
  ['recorder', 'text', p => p.recorder, 'recorder under test'],
  ['activity', 'text', p => p.activity, 'activity of the protocol'],
  ['as_detected', 'asMeasure', p => p.detected, 'from the recorder’s marks'],
  ['as_reviewed', 'asMeasure', p => p.reviewed, 'from the reviewed beats'],
];

function pointsOf(effects: readonly HrvEffect[], key: string): Point[] {
  return effects.flatMap(({ volunteer, recorder, activity, measures }) => {
    const m = measures.find(one => one.key === key)!;
    if (m.detected.value === null || m.reviewed.value === null) return [];
    return [{ key, volunteer, recorder, activity, detected: m.detected.value, reviewed: m.reviewed.value }];
  });
}

function inWords(effects: readonly HrvEffect[], key: string): string {
  const points = pointsOf(effects, key);
  const { label, unit, places } = measureOf(key);
  if (points.length === 0) return `${label}: not computable.`;
  const most = points.reduce((a, b) => (Math.abs(b.detected - b.reviewed) > Math.abs(a.detected - a.reviewed) ? b : a));
  return `${label}: ${amount(points.length, 'segment')}; most apart ${most.detected.toFixed(places)} against ${most.reviewed.toFixed(places)} ${unit} (${most.volunteer}, ${most.recorder}, ${most.activity}).`;
}

function panel(data: ReportData, key: string, log: boolean, { left, right, top }: PanelPlace): string {
  const { label, unit } = measureOf(key);
  const title = unit ? `${label}, ${unit}` : label;
  const points = pointsOf(data.hrv.effects, key).filter(p => !log || (p.detected > 0 && p.reviewed > 0));
  const bottom = top + panelHeight - 68;
  const values = points.flatMap(p => [p.detected, p.reviewed]);
  const range = log ? axisRange(values.map(Math.log)) : axisRange(values);
  if (!range) return text(left, top + 20, `${title}: not computable`);
  const [low, high] = log ? [Math.exp(range[0]), Math.exp(range[1])] : range;
  const axis = log ? logAxis : linearAxis;
  const x = axis(low, high, left, right);
  const y = axis(low, high, bottom, top);
  let body = frame(x, y, { x: 'as reviewed', y: 'as detected', title });
  body += line(x.at(low), y.at(low), x.at(high), y.at(high), { width: 0.8, dash: '2 3' });
  for (const p of points)
    body += mark(shapeFor(data.activities.indexOf(p.activity)), x.at(p.reviewed), y.at(p.detected), 2.6);
  return body;
}
