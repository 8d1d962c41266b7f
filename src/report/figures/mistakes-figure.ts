import { type MistakeKind, mistakeKinds, type QualityRow } from '../../core/report/quality-table';
import type { ReportData } from '../../core/report/report';
import { mistakeNames } from '../csv/mistake-names';
import { mistakesTableOf } from '../csv/quality-csv';
import type { Figure } from './figure';
import { box, line, linearAxis, text, textWidth, tickLabel } from './svg';

const width = 680;
const left = 235;
const right = width - 90;
const id = 'figure-mistakes';

/** Share of intervals that are not right, stacked by cause. */
export function mistakesFigure(data: ReportData): Figure {
  const rows = [...data.activities, null].flatMap(activity =>
    data.recorders.flatMap(r => data.numbers.quality.find(q => q.activity === activity && q.recorder === r) ?? []),
  );
  const most = Math.max(1, ...rows.map(totalOf));
  const x = linearAxis(0, most * 1.02, left, right, 7);
  const top = 34;
  const bottom = top + rows.length * 21;
  let body = patterns() + key();
  for (const v of x.ticks) {
    body += line(x.at(v), top, x.at(v), bottom, { width: 0.5, opacity: 0.3 });
    body += text(x.at(v), bottom + 14, tickLabel(v), { anchor: 'middle', size: 10 });
  }
  for (const [i, row] of rows.entries()) body += bar(row, x.at, top + i * 21, i % data.recorders.length === 0);
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

function bar(row: QualityRow, at: (v: number) => number, y: number, first: boolean): string {
  let body = first ? line(0, y - 1, width, y - 1, { width: 0.5, opacity: 0.4 }) : '';
  if (first) body += text(0, y + 14, row.activity ?? 'all activities', { bold: row.activity === null });
  body += text(left - 6, y + 14, row.recorder, { anchor: 'end' });
  let sum = 0;
  for (const m of row.mistakes) {
    const share = m.ofAll.value ?? 0;
    if (share > 0)
      body += box(at(sum), y + 3, at(sum + share) - at(sum), 14, fillOf(m.kind), m.kind === 'missed' ? 0.85 : 1);
    sum += share;
  }
  return body + text(at(sum) + 6, y + 14, `${sum.toFixed(1)} %`);
}

function inWords(row: QualityRow): string {
  const parts = row.mistakes.filter(m => m.intervals > 0).map(m => `${mistakeNames[m.kind]} ${m.intervals}`);
  return `${row.recorder}, ${row.activity ?? 'all activities'}: ${totalOf(row).toFixed(1)} % (${parts.join(', ') || 'none'})`;
}

function fillOf(kind: MistakeKind): string {
  if (kind === 'missed') return 'currentColor';
  return kind === 'noSignal' ? 'none' : `url(#${id}-${kind})`;
}

function patterns(): string {
  const pattern = (kind: MistakeKind, size: number, content: string, turn = '') =>
    `<pattern id="${id}-${kind}" width="${size}" height="${size}" patternUnits="userSpaceOnUse"${turn}>${content}</pattern>`;
  const rule = (d: string) => `<path d="${d}" stroke="currentColor" stroke-width="1.1" fill="none"/>`;
  return `<defs>${pattern('wrongPeak', 4, rule('M0 0v4'), ' patternTransform="rotate(45)"')}${pattern('extra', 5, '<circle cx="2.5" cy="2.5" r="1.1" fill="currentColor"/>')}${pattern('unreadable', 3, rule('M0 1.5h3'))}</defs>`;
}

function key(): string {
  let x = 0;
  let body = '';
  for (const kind of mistakeKinds) {
    body += box(x, 4, 16, 11, fillOf(kind), kind === 'missed' ? 0.85 : 1) + text(x + 21, 14, mistakeNames[kind]);
    x += 36 + textWidth(mistakeNames[kind]);
  }
  return body;
}
