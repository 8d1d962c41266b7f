import type { ReportData } from '../core/report/report';
import { reportCss } from './css';
import { type Figure, figureSvg } from './figures/figure';
import { escapeXml as esc } from './figures/svg';
import { type ReportFigures, reportFigures } from './report-figures';
import { agreementTables, detectedTables } from './tables/agreement-tables';
import { coverageTables } from './tables/coverage-tables';
import { hrvDetailTables, hrvSummaryTables } from './tables/hrv-tables';
import { differencesTable, mistakesTable, otherIntervalsTable, qualityTable } from './tables/quality-tables';
import {
  auditSummary,
  clocksTable,
  planningTable,
  ratersTable,
  recordingsTable,
  reviewTable,
  settingsTable,
} from './tables/study-tables';
import type { ReportTable } from './tables/table';

/** Longest table of data that is put behind a figure; for longer ones it says where they are. */
const mostDataRows = 400;

/** A file of its own: opens anywhere, prints, and fetches nothing. */
export function reportHtml(data: ReportData, figures: ReportFigures = reportFigures(data)): string {
  return `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="generator" content="${esc(data.writtenBy)}">
<title>${esc(data.title)}</title>
<style>
${reportCss}
</style>
</head>
<body>
<main class="report">
${reportBody(data, figures)}
</main>
</body>
</html>
`;
}

/** The report itself, for the page and the file alike: headings in order, tables with headings, figures with words. */
export function reportBody(data: ReportData, figures: ReportFigures = reportFigures(data)): string {
  return [
    `<header><h1>${esc(data.title)}</h1><p class="report-sub">Quality of R-peak marks, reviewed by eye. Written by ${esc(data.writtenBy)}.</p></header>`,
    cautions(data),
    section(
      'What was done',
      data.methods.map(m => `<p><strong>${esc(m.heading)}.</strong> ${esc(m.text)}</p>`).join('\n') +
        tableHtml(reviewTable(data)),
    ),
    qualitySection(data, figures),
    recordersSection(data, figures),
    ratersSection(data),
    section(
      'What the mistakes do to heart rate and HRV',
      figureHtml(figures.hrv) + hrvSummaryTables(data).map(tableHtml).join('\n'),
    ),
    section(
      'How many volunteers',
      tableHtml(planningTable(data)) + (figures.planning ? figureHtml(figures.planning) : ''),
    ),
    examplesSection(figures),
    section('Audit', tableHtml(auditSummary(data))),
    appendix(data, figures),
  ].join('\n');
}

function section(title: string, content: string, className = ''): string {
  return `<section${className ? ` class="${className}"` : ''}><h2>${esc(title)}</h2>\n${content}</section>`;
}

function cautions({ cautions: list }: ReportData): string {
  return section('Cautions', `<ul>${list.map(c => `<li>${esc(c)}</li>`).join('')}</ul>`, 'report-cautions');
}

function qualitySection(data: ReportData, figures: ReportFigures): string {
  if (data.segments.length === 0) return section('Quality', '<p>No review is counted, so there is no number.</p>');
  return section(
    'Quality',
    [
      tableHtml(qualityTable(data)),
      figureHtml(figures.quality),
      tableHtml(mistakesTable(data)),
      figureHtml(figures.mistakes),
      tableHtml(otherIntervalsTable(data)),
    ].join('\n'),
  );
}

function recordersSection(data: ReportData, figures: ReportFigures): string {
  const headline = data.asDetected.flatMap((comparison, i) => detectedTables(comparison, i + 1).map(tableHtml));
  if (data.recorders.length < 2) return section('What the recorder makes of it', headline.join('\n'));
  const pairs = data.agreement.map((pair, i) => {
    const [limits, errors] = agreementTables(pair, i + 1);
    return tableHtml(limits!) + figureHtml(figures.agreement[i]!) + tableHtml(errors!);
  });
  return section(
    data.recorders.length === 2 ? 'Two recorders' : 'Recorders compared',
    [
      tableHtml(differencesTable(data)),
      '<h3>As detected, mistakes included</h3>',
      ...headline,
      '<h3>Only what both recorders have</h3>',
      ...pairs,
      tableHtml(clocksTable(data)),
    ].join('\n'),
  );
}

function ratersSection(data: ReportData): string {
  if (!data.raters.total) return section('Two raters', '<p>No session has two finished ratings.</p>');
  return section('Two raters', tableHtml(ratersTable(data)));
}

function examplesSection({ examples }: ReportFigures): string {
  const content =
    examples.map(figureHtml).join('\n') || '<p>No rater has commented on a place: there is nothing to show.</p>';
  return section('Examples picked by the raters', content);
}

function appendix(data: ReportData, { curves }: ReportFigures): string {
  const protocol = data.study?.protocol
    ? `<h3>Protocol</h3><p class="report-protocol">${esc(data.study.protocol)}</p>`
    : '';
  return section(
    'Appendix',
    [
      '<h3>Heart rate and HRV of every segment</h3>',
      ...hrvDetailTables(data).map(tableHtml),
      '<h3>Tachograms and spectra of every segment</h3>',
      ...curves.map(figureHtml),
      protocol,
      '<h3>Recordings and settings</h3>',
      tableHtml(recordingsTable(data)),
      '<h3>What the intervals are worth</h3>',
      ...coverageTables().map(tableHtml),
      tableHtml(settingsTable(data)),
    ].join('\n'),
    'report-appendix',
  );
}

function tableHtml(t: ReportTable): string {
  const head = t.head.map((h, k) => `<th scope="col"${k < t.rowHeads ? ' class="first"' : ''}>${esc(h)}</th>`).join('');
  const rows = t.rows.map((row, i) => `<tr>${row.map((cell, k) => cellHtml(t, cell, i, k)).join('')}</tr>`).join('\n');
  const notes = t.notes
    .filter(n => n.length > 1)
    .map(n => `<p class="report-note">${esc(n)}</p>`)
    .join('');
  return `<div class="report-table"><table id="${t.id}"><caption>${esc(t.caption)}</caption><thead><tr>${head}</tr></thead><tbody>
${rows}
</tbody></table>${notes}</div>`;
}

/** A heading that repeats the one above stays for who listens, and is faint for who looks. */
function cellHtml(t: ReportTable, cell: string, row: number, column: number): string {
  if (column >= t.rowHeads) return `<td>${esc(cell)}</td>`;
  const repeats = column === 0 && t.rowHeads > 1 && t.rows[row - 1]?.[0] === cell;
  return `<th scope="row"${repeats ? ' class="repeats"' : ''}>${esc(cell)}</th>`;
}

function figureHtml(figure: Figure): string {
  return `<figure id="${figure.id}" data-figure="${figure.id}">${figureSvg({ ...figure, id: `${figure.id}-drawing` }, false)}<figcaption>${esc(figure.title)}</figcaption>
<details class="no-print"><summary>In words, and the data behind it</summary><p>${esc(figure.description)}</p>${dataHtml(figure)}</details></figure>`;
}

function dataHtml({ data, title }: Figure): string {
  if (data.rows.length > mostDataRows)
    return `<p>${data.rows.length} rows of data: see the CSV files beside the report.</p>`;
  const cell = (c: string | number | boolean | null) =>
    typeof c === 'number' ? String(Number(c.toPrecision(6))) : String(c ?? '');
  const head = data.head.map(h => `<th scope="col">${esc(h)}</th>`).join('');
  const rows = data.rows.map(r => `<tr>${r.map(c => `<td>${esc(cell(c))}</td>`).join('')}</tr>`).join('');
  return `<table><caption>Data: ${esc(title)}</caption><thead><tr>${head}</tr></thead><tbody>${rows}</tbody></table>`;
}
