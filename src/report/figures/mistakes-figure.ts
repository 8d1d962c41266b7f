import type { ReportBeginning } from '../../core/report/beginning';
import { type MistakeKind, mistakeKinds, type QualityRow } from '../../core/report/quality-table';
import { percentText } from '../../core/score/percent-text';
import { mistakeNames } from '../csv/mistake-names';
import { mistakesTableOf } from '../csv/quality-csv';
import { columnsWidthPx, type Figure, type FigureWidth, idFor } from './figure';
import { box, line, linearAxis, text, textWidth, tickLabel } from './svg';

/** Where things stand: in one column the activity is above its bars instead of beside them. */
interface Places {
  readonly id: string;
  readonly width: number;
  readonly left: number;
  readonly right: number;
  /** Height of the line with the activity's name. */
  readonly head: number;
}

function placesOf(columns: FigureWidth): Places {
  const width = columnsWidthPx[columns];
  const id = idFor('figure-mistakes', columns);
  return columns === 'one column'
    ? { id, width, left: 105, right: width - 48, head: 18 }
    : { id, width, left: 235, right: width - 90, head: 0 };
}

/** Share of intervals that are not right, stacked by cause. */
export function mistakesFigure(data: ReportBeginning, columns: FigureWidth = 'two columns'): Figure {
  const places = placesOf(columns);
  const { id, width, left, right, head } = places;
  const rows = [...data.activities, null].flatMap(activity =>
    data.recorders.flatMap(r => data.numbers.quality.find(q => q.activity === activity && q.recorder === r) ?? []),
  );
  const most = Math.max(1, ...rows.map(totalOf));
  const x = linearAxis(0, most * 1.02, left, right, head > 0 ? 4 : 7);
  const legend = key(places);
  const top = legend.heightPx + 14;
  const each = data.recorders.length;
  const topOf = (i: number) => top + i * 21 + head * (Math.floor(i / each) + 1);
  const bottom = rows.length > 0 ? topOf(rows.length - 1) + 21 : top;
  let body = patterns(id) + legend.body;
  for (const v of x.ticks) {
    body += line(x.at(v), top, x.at(v), bottom, { width: 0.5, opacity: 0.3 });
    body += text(x.at(v), bottom + 14, tickLabel(v), { anchor: 'middle', size: 10 });
  }
  for (const [i, row] of rows.entries()) body += bar(row, x.at, topOf(i), i % each === 0, places);
  body += line(left, top, left, bottom, { width: 0.9 });
  body += text((left + right) / 2, bottom + 30, 'intervals that are not right, % of all', { anchor: 'middle' });
  return {
    id,
    title: 'Mistakes by kind',
    legend:
      'Length of a bar: share of all intervals that are not right; patterns: why. The number at its end is the sum.',
    description: `Share of all RR intervals that are not right, by cause. ${rows.map(inWords).join('; ')}.`,
    drawing: { widthPx: width, heightPx: bottom + 38, body },
    data: mistakesTableOf(rows),
  };
}

const totalOf = (row: QualityRow) => row.mistakes.reduce((sum, m) => sum + (m.ofAll.value ?? 0), 0);

function bar(row: QualityRow, at: (v: number) => number, y: number, first: boolean, places: Places): string {
  const { id, width, left, head } = places;
  let body = first ? line(0, y - head - 1, width, y - head - 1, { width: 0.5, opacity: 0.4 }) : '';
  if (first) body += text(0, y + 14 - head, row.activity ?? 'all activities', { bold: row.activity === null });
  body += text(left - 6, y + 14, row.recorder, { anchor: 'end' });
  let sum = 0;
  for (const m of row.mistakes) {
    const share = m.ofAll.value ?? 0;
    if (share > 0)
      body += box(at(sum), y + 3, at(sum + share) - at(sum), 14, fillOf(id, m.kind), m.kind === 'missed' ? 0.85 : 1);
    sum += share;
  }
  // Of no interval there is no share.
  const share = row.pooled.value === null ? 'not computable' : `${percentText(sum, 1)} %`;
  return body + text(at(sum) + 6, y + 14, share);
}

function inWords(row: QualityRow): string {
  const parts = row.mistakes.filter(m => m.intervals > 0).map(m => `${mistakeNames[m.kind]} ${m.intervals}`);
  const share =
    row.pooled.value === null ? 'not computable' : `${percentText(totalOf(row), 1)} % (${parts.join(', ') || 'none'})`;
  return `${row.recorder}, ${row.activity ?? 'all activities'}: ${share}`;
}

function fillOf(id: string, kind: MistakeKind): string {
  if (kind === 'missed') return 'currentColor';
  return kind === 'noSignal' ? 'none' : `url(#${id}-${kind})`;
}

function patterns(id: string): string {
  const pattern = (kind: MistakeKind, size: number, content: string, turn = '') =>
    `<pattern id="${id}-${kind}" width="${size}" height="${size}" patternUnits="userSpaceOnUse"${turn}>${content}</pattern>`;
  const rule = (d: string) => `<path d="${d}" stroke="currentColor" stroke-width="1.1" fill="none"/>`;
  return `<defs>${pattern('wrongPeak', 4, rule('M0 0v4'), ' patternTransform="rotate(45)"')}${pattern('extra', 5, '<circle cx="2.5" cy="2.5" r="1.1" fill="currentColor"/>')}${pattern('unreadable', 3, rule('M0 1.5h3'))}</defs>`;
}

function key({ id, width }: Places): { body: string; heightPx: number } {
  let [x, y] = [0, 0];
  let body = '';
  for (const kind of mistakeKinds) {
    const wide = 36 + textWidth(mistakeNames[kind]);
    if (x > 0 && x + wide > width) [x, y] = [0, y + 17];
    body +=
      box(x, y + 4, 16, 11, fillOf(id, kind), kind === 'missed' ? 0.85 : 1) + text(x + 21, y + 14, mistakeNames[kind]);
    x += wide;
  }
  return { body, heightPx: y + 20 };
}
