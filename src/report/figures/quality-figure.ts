import type { ReportBeginning } from '../../core/report/beginning';
import type { QualityRow } from '../../core/report/quality-table';
import { percentLimits, percentText } from '../../core/score/percent-text';
import type { Computed } from '../../core/score/result';
import { type Column, dataTable } from '../csv/column';
import { recorderAndActivity } from '../csv/shared-columns';
import { columnsWidthPx, type Figure, type FigureWidth, idFor } from './figure';
import { line, linearAxis, mark, path, shapeFor, shapeKey, short, text, tickLabel } from './svg';

const rowHeight = 30;

/** Quality by activity and recorder: pooled value with its interval, and a ring for each volunteer. */
export function qualityFigure(data: ReportBeginning, columns: FigureWidth = 'two columns'): Figure {
  const width = columnsWidthPx[columns];
  const narrow = columns === 'one column';
  // In one column there is no room beside the rows: the activity stands above them.
  const [left, head] = narrow ? [10, 18] : [150, 0];
  const { recorders, numbers } = data;
  const activities: (string | null)[] = [...data.activities, null];
  const rowOf = (activity: string | null, recorder: string) =>
    numbers.quality.find(r => r.activity === activity && r.recorder === recorder);
  const rows = numbers.quality;
  const lowest = Math.min(100, ...rows.flatMap(valuesOf));
  const low = Math.max(0, Math.floor((lowest - 0.5) / 5) * 5);
  const x = linearAxis(low, 100, left, width - 14, narrow ? 5 : 8);
  const key = shapeKey(
    recorders.map(r => `${r}, all volunteers`),
    left,
    12,
    narrow ? width - left : width - left - 118,
  );
  const [ringX, ringY] = narrow ? [left + 5, key.heightPx + 12] : [width - 118, 12];
  const top = (narrow ? key.heightPx + 15 : key.heightPx) + 15;
  const groupHeight = recorders.length * rowHeight + 10 + head;
  const bottom = top + activities.length * groupHeight;
  let body = key.body + mark('ring', ringX, ringY - 4, 2.2) + text(ringX + 8, ringY, 'one volunteer');
  for (const v of x.ticks) {
    body += line(x.at(v), top, x.at(v), bottom, { width: 0.5, opacity: 0.3 });
    body += text(x.at(v), bottom + 14, tickLabel(v), { anchor: 'middle', size: 10 });
  }
  for (const [i, activity] of activities.entries()) {
    const y = top + i * groupHeight;
    body += line(0, y, width, y, { width: 0.5, opacity: 0.5 });
    body += text(0, narrow ? y + 13 : y + groupHeight / 2 + 4, activity ?? 'all activities', {
      bold: activity === null,
    });
    for (const [k, recorder] of recorders.entries()) {
      const row = rowOf(activity, recorder);
      if (row) body += oneRow(row, x.at, y + 5 + head + k * rowHeight, k, left);
    }
  }
  body += line(left, bottom, width - 14, bottom, { width: 0.9 });
  body += text((left + width) / 2, bottom + 30, 'quality: right RR intervals, %', { anchor: 'middle' });
  return {
    id: idFor('figure-quality', columns),
    title: 'Quality by activity and recorder',
    legend:
      'Filled and open large marks: pooled quality of a recorder, with its interval as a bar. Small rings: each volunteer’s own quality.',
    description: inWords(rows),
    drawing: { widthPx: width, heightPx: bottom + 38, body },
    data: dataTable('segments.csv, summed by volunteer', pointColumns, rows.flatMap(pointsOf)),
  };
}

interface Point {
  readonly recorder: string;
  readonly activity: string | null;
  readonly volunteer: string;
  readonly quality: Computed;
  readonly limits: readonly [number | null, number | null];
}

const pointColumns: readonly Column<Point>[] = [
  ...recorderAndActivity,
  ['volunteer', 'text', p => p.volunteer, 'code of the volunteer; all: every volunteer together'],
  ['quality_percent', 'percent', p => p.quality.value, 'quality: 100 x right / (judged + lost)'],
  ['low_percent', 'percent', p => p.limits[0], 'lower end of the interval drawn'],
  ['high_percent', 'percent', p => p.limits[1], 'upper end of the interval drawn'],
  ['intervals', 'count', p => (p.quality.value === null ? null : p.quality.n), 'judged and lost intervals'],
];

function pointsOf(row: QualityRow): Point[] {
  const { recorder, activity } = row;
  return [
    { recorder, activity, volunteer: 'all', quality: row.pooled, limits: limitsOf(row) },
    ...row.perVolunteer.map((v): Point => ({ recorder, activity, ...v, limits: [null, null] })),
  ];
}

const limitsOf = ({ pooledClustered: p }: QualityRow): [number | null, number | null] =>
  p.value === null || !p.interval ? [null, null] : [p.interval[0], p.interval[1]];

function valuesOf(row: QualityRow): number[] {
  return [...limitsOf(row), row.pooled.value, ...row.perVolunteer.map(v => v.quality.value)].flatMap(v => v ?? []);
}

function oneRow(row: QualityRow, at: (v: number) => number, top: number, k: number, left: number): string {
  const y = top + 9;
  if (row.pooled.value === null) return text(left + 6, y + 4, `${row.recorder}: not computable`, { size: 10 });
  let body = '';
  const [low, high] = limitsOf(row);
  if (low !== null && high !== null) {
    body += line(at(low), y, at(high), y, { width: 1.6 });
    body += path([low, high].map(v => `M${short(at(v))} ${short(y - 4)}v8`).join(''), { width: 1.6 });
  }
  body += mark(shapeFor(k), at(row.pooled.value), y, 4.4);
  for (const [i, v] of row.perVolunteer.entries()) {
    if (v.quality.value !== null) body += mark('ring', at(v.quality.value), y + 9 + (i % 3) * 3, 2.2);
  }
  return body;
}

function inWords(rows: readonly QualityRow[]): string {
  const words = rows.map(row => {
    const [low, high] = limitsOf(row);
    const value = row.pooled.value === null ? 'not computable' : `${percentText(row.pooled.value, 1)} %`;
    const limits = low === null || high === null ? '' : ` (${percentLimits([low, high], 1).join(' to ')})`;
    return `${row.recorder}, ${row.activity ?? 'all activities'}: ${value}${limits}`;
  });
  return `Pooled quality with its interval, and each volunteer’s own. ${words.join('; ')}.`;
}
