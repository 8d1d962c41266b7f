import type { AgreementOfPair } from '../../core/report/pairs/compared-recorders';
import {
  type AgreementCell,
  type AgreementMeasure,
  type AgreementRow,
  agreementMeasures,
} from '../../core/report/pairs/recorder-agreement';
import { type Column, dataTable } from '../csv/column';
import { columnsWidthPx, type Figure, type FigureWidth, idFor, type PanelPlace, panelPlaces } from './figure';
import { axisRange, box, frame, line, linearAxis, mark, shapeFor, shapeKey, text } from './svg';

const panelHeight = 300;
const drawn = ['heartRate', 'rmssd'] as const satisfies readonly AgreementMeasure[];

/** Differences of two recorders over their means, with bias and limits of agreement. */
export function agreementFigure(
  pair: AgreementOfPair,
  activities: readonly string[],
  number: number,
  columns: FigureWidth = 'two columns',
): Figure {
  const widthPx = columnsWidthPx[columns];
  const key = shapeKey(activities, 0, 12, widthPx);
  // One above the other, the title of the next needs room.
  const pitch = panelHeight + (columns === 'one column' ? 16 : 0);
  const { places, bottom } = panelPlaces(columns, drawn.length, pitch, key.heightPx + 20);
  const panels = drawn.map((measure, i) => panel(pair, measure, activities, places[i]!));
  const rows = drawn.map(measure => overallRow(pair, measure));
  return {
    id: idFor(`figure-agreement-${number}`, columns),
    title: `Agreement of ${pair.first} and ${pair.second}`,
    legend:
      'A mark for each pair of values, its shape by activity. Solid line: bias. Dashed lines: 95 % limits of agreement. Grey bands: their 95 % intervals. Only intervals that both recorders have.',
    description: `Difference (${pair.first} less ${pair.second}) over the mean of both, a mark for each pair of values. ${rows.map(inWords).join(' ')}`,
    drawing: { widthPx, heightPx: bottom, body: key.body + panels.join('') },
    data: dataTable('intervals that both recorders have', valueColumns, pairedValues(pair)),
  };
}

interface PairedValue {
  readonly pair: AgreementOfPair;
  readonly cell: AgreementCell;
  readonly a: number;
  readonly b: number;
}

const valueColumns: readonly Column<PairedValue>[] = [
  ['measure', 'text', v => agreementMeasures[v.cell.measure], 'what is compared, with its unit'],
  ['volunteer', 'text', v => v.cell.volunteer, 'code of the volunteer'],
  ['activity', 'text', v => v.cell.activity, 'activity of the protocol'],
  ['first', 'text', v => v.pair.first, 'first recorder'],
  ['second', 'text', v => v.pair.second, 'second recorder'],
  ['first_value', 'asMeasure', v => v.a, 'value by the first recorder'],
  ['second_value', 'asMeasure', v => v.b, 'value by the second recorder'],
];

function pairedValues(pair: AgreementOfPair): PairedValue[] {
  return pair.points
    .filter(cell => drawn.some(m => m === cell.measure))
    .flatMap(cell => Array.from(cell.a, (a, i) => ({ pair, cell, a, b: cell.b[i]! })));
}

const overallRow = (pair: AgreementOfPair, measure: AgreementMeasure) =>
  pair.rows.find(r => r.measure === measure && r.activity === null)!;

function inWords(row: AgreementRow): string {
  const b = row.blandAltman;
  if (b.value === null) return `${agreementMeasures[row.measure]}: not computable, ${b.reason}.`;
  return `${agreementMeasures[row.measure]}: bias ${b.value.toFixed(2)}, limits ${b.lower.toFixed(2)} to ${b.upper.toFixed(2)}, ${b.n} pairs of ${b.participants} volunteers.`;
}

function panel(
  pair: AgreementOfPair,
  measure: AgreementMeasure,
  activities: readonly string[],
  { left, right, top }: PanelPlace,
): string {
  const cells = pair.points.filter(c => c.measure === measure);
  const points = cells.flatMap(c =>
    Array.from(c.a, (a, i) => ({
      mean: (a + c.b[i]!) / 2,
      difference: a - c.b[i]!,
      shape: shapeFor(activities.indexOf(c.activity)),
    })),
  );
  const b = overallRow(pair, measure).blandAltman;
  const xs = axisRange(points.map(p => p.mean));
  const limits = b.value === null ? [] : [b.lowerInterval[0], b.upperInterval[1]];
  const ys = axisRange([...points.map(p => p.difference), ...limits]);
  const title = agreementMeasures[measure];
  if (!xs || !ys) return text(left, top + 20, `${title}: no pair`);
  const x = linearAxis(xs[0], xs[1], left, right, 5);
  const y = linearAxis(ys[0], ys[1], top + panelHeight - 50, top);
  let body = frame(x, y, { x: 'mean of both', y: `${pair.first} less ${pair.second}`, title });
  if (b.value !== null) {
    const band = ([low, high]: readonly [number, number]) =>
      box(left, y.at(high), right - left, y.at(low) - y.at(high), 'currentColor', 0.12, false);
    body += band(b.biasInterval) + band(b.lowerInterval) + band(b.upperInterval);
    body += line(left, y.at(b.value), right, y.at(b.value), { width: 1.4 });
    for (const limit of [b.lower, b.upper])
      body += line(left, y.at(limit), right, y.at(limit), { width: 1.2, dash: '6 4' });
  }
  const r = points.length > 200 ? 1.5 : 2.6;
  const dots = points.map(p => mark(p.shape, x.at(p.mean), y.at(p.difference), r)).join('');
  return `${body}<g opacity="${points.length > 200 ? 0.55 : 0.9}">${dots}</g>`;
}
