import type { ReportData } from '../../core/report/report';
import { dataTable } from '../csv/column';
import { recorderColumn } from '../csv/shared-columns';
import { planningPointColumns, planningRows, planningSource } from '../csv/study-csv';
import { columnsWidthPx, type Figure, type FigureWidth, idFor } from './figure';
import { frame, line, linearAxis, logAxis, mark, path, shapeFor, shapeKey, short, text } from './svg';

const height = 260;

/** Width of the interval over the number of volunteers. */
export function planningFigure(data: ReportData, columns: FigureWidth = 'two columns'): Figure | null {
  const width = columnsWidthPx[columns];
  const { planning } = data.numbers;
  const points = planning.flatMap(({ plan }) => plan.curve.filter(p => p.medianWidthPercent !== null));
  if (points.length === 0) return null;
  const { assurance, widthPercent } = data.settings.statistics.planning;
  const counts = points.map(p => p.volunteers);
  const key = shapeKey(
    planning.map(p => p.recorder),
    46,
    12,
    width,
  );
  const top = key.heightPx + 16;
  const x = logAxis(Math.min(...counts) * 0.9, Math.max(...counts) * 1.1, 46, width - 14);
  const y = linearAxis(
    0,
    Math.max(widthPercent, ...points.map(p => p.medianWidthPercent!)) * 1.05,
    top + height - 46,
    top,
  );
  let body = key.body + frame(x, y, { x: 'volunteers', y: 'median width, % points' });
  body += line(46, y.at(widthPercent), width - 14, y.at(widthPercent), { width: 1, dash: '6 4' });
  body += text(width - 14, y.at(widthPercent) - 5, `wanted: ${widthPercent} points`, { anchor: 'end' });
  for (const [i, { plan }] of planning.entries()) {
    const known = plan.curve.filter(p => p.medianWidthPercent !== null);
    const at = known.map(p => [x.at(p.volunteers), y.at(p.medianWidthPercent!)] as const);
    body += path(at.map(([px, py], k) => `${k === 0 ? 'M' : 'L'}${short(px)} ${short(py)}`).join('') || 'M0 0', {
      width: 0.8,
    });
    for (const [px, py] of at) body += mark(shapeFor(i), px, py, 3);
  }
  const answers = planning.map(({ recorder, plan }) =>
    plan.volunteers.value === null
      ? `${recorder}: ${plan.volunteers.reason}`
      : `${recorder}: ${plan.volunteers.value} volunteers${plan.orFewer ? ' or fewer' : ''}`,
  );
  return {
    id: idFor('figure-planning', columns),
    title: 'Width of the interval by number of volunteers',
    legend: `Marks: median width in simulated studies of so many volunteers. Dashed line: the width wanted. More volunteers are needed than where they cross: ${Math.round(100 * assurance)} of 100 studies are to be narrow enough, not half of them.`,
    description: `Median width of the interval for pooled quality in simulated studies. Needed for ${widthPercent} percentage points: ${answers.join('; ')}.`,
    drawing: { widthPx: width, heightPx: top + height, body },
    data: dataTable(planningSource, [recorderColumn, ...planningPointColumns], planningRows(data)),
  };
}
