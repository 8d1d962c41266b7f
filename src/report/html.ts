import type { ReportBeginning } from '../core/report/beginning';
import type { ReportData } from '../core/report/report';
import { type Captions, captions } from './captions';
import { checklistTable } from './checklist';
import { reportCss } from './css';
import { type Figure, figureSvg } from './figures/figure';
import { escapeXml as esc } from './figures/svg';
import { type QualityFigures, type ReportFigures, reportFigures } from './report-figures';
import { agreementTables, detectedHeadline, detectedTables } from './tables/agreement-tables';
import { coverageTables } from './tables/coverage-tables';
import { hrvDetailTables, hrvHeadline, hrvSummaryTables } from './tables/hrv-tables';
import {
  differencesTable,
  mistakesTable,
  otherIntervalsTable,
  qualityTable,
  tolerancesTable,
} from './tables/quality-tables';
import { sampledReviewsTable } from './tables/sampled-table';
import { secondDetectorTable } from './tables/second-table';
import {
  allRatersTable,
  auditSummary,
  clocksTable,
  flowTable,
  planningTable,
  ratersHeadline,
  ratersTable,
  recordingsTable,
  repeatedTable,
  reviewTable,
  settingsTable,
  weeksTable,
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
${reportCss(footOf(data))}
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
  const paper = reportPaper();
  return `${paper.beginning(data, figures)}\n${paper.rest(data, figures)}`;
}

/** The report in two parts, each made once and in this order, as tables and figures are numbered on. */
export interface ReportPaper {
  readonly beginning: (data: ReportBeginning, figures: QualityFigures) => string;
  readonly rest: (data: ReportData, figures: ReportFigures) => string;
}

export function reportPaper(): ReportPaper {
  const main = printer(captions(false));
  return {
    beginning: (data, figures) => beginningOf(data, figures, main),
    rest: (data, figures) => restOf(data, figures, main),
  };
}

function beginningOf(data: ReportBeginning, figures: QualityFigures, main: Printer): string {
  return [
    `<header><h1>${esc(data.title)}</h1><p class="report-sub">Quality of R-peak marks, reviewed by eye. ${esc(asOf(data))}Written by ${esc(data.writtenBy)}.</p></header>`,
    cautions(data),
    section(
      'What was done',
      data.methods.map(m => `<p><strong>${esc(m.heading)}.</strong> ${esc(m.text)}</p>`).join('\n') +
        main.table(flowTable(data)) +
        main.table(reviewTable(data)),
    ),
    qualitySection(data, figures, main),
  ].join('\n');
}

function restOf(data: ReportData, figures: ReportFigures, main: Printer): string {
  // Nothing was computed: tables without a row and words on how they were made would say that something was.
  if (data.segments.length === 0) return supplement([settingsPart(data)]);
  return [
    recordersSection(data, main),
    ratersSection(data, main),
    section(
      'What the mistakes do to heart rate and HRV',
      figures.hrv ? main.table(hrvHeadline(data)) + main.figure(figures.hrv) : noneInFull(data, 'heart rate and HRV'),
    ),
    section(
      'How many volunteers',
      hasFull(data)
        ? main.table(planningTable(data)) + (figures.planning ? main.figure(figures.planning) : '')
        : noneInFull(data, 'a number of volunteers'),
    ),
    section('Reporting checklist', main.table(checklistTable(data))),
    supplement(detailedParts(data, figures)),
  ].join('\n');
}

/** The day of the last entry in a log: a report of the same reviews is the same whenever it is made. */
function asOf({ audit }: ReportBeginning): string {
  const last = audit
    .flatMap(a => a.lastAt ?? [])
    .sort()
    .at(-1);
  return last ? `Reviews as of ${last.slice(0, 10)}. ` : '';
}

/** What stands at the foot of each printed page beside its number. */
export function footOf(data: ReportBeginning): string {
  return `${data.title}. ${asOf(data)}${data.writtenBy}`;
}

function section(title: string, content: string, className = ''): string {
  return `<section${className ? ` class="${className}"` : ''}><h2>${esc(title)}</h2>\n${content}</section>`;
}

function cautions({ cautions: list }: ReportBeginning): string {
  return section('Cautions', `<ul>${list.map(c => `<li>${esc(c)}</li>`).join('')}</ul>`, 'report-cautions');
}

const printed = (table: ReportTable | null, print: Printer) => (table ? print.table(table) : '');

function noneInFull({ segments }: Pick<ReportBeginning, 'segments'>, what: string): string {
  const samples = segments.some(s => s.standing.status === 'sampled');
  const why = samples
    ? 'A sample gives quality alone, and no other review of a segment is complete.'
    : 'No review of a segment is complete.';
  return `<p>Not computable: ${esc(what)}. ${why}</p>\n`;
}

/** Whether any segment is in the tables of full reviews. */
const hasFull = ({ numbers }: Pick<ReportBeginning, 'numbers'>) => numbers.quality.length > 0;

function qualitySection(data: ReportBeginning, figures: QualityFigures, print: Printer): string {
  if (data.segments.length === 0) return section('Quality', '<p>No review is counted, so there is no number.</p>');
  const { quality, mistakes } = figures;
  // Tables are numbered as they are printed.
  const sampled = () => printed(sampledReviewsTable(data), print);
  const second = () => printed(secondDetectorTable(data), print);
  if (!quality || !mistakes)
    return section('Quality', noneInFull(data, 'quality by activity, causes of mistakes') + sampled() + second());
  return section(
    'Quality',
    [
      print.table(qualityTable(data)) + sampled(),
      print.figure(quality),
      print.table(mistakesTable(data)),
      print.figure(mistakes),
      print.table(tolerancesTable(data)) + second(),
    ].join('\n'),
  );
}

function recordersSection(data: ReportData, print: Printer): string {
  const headline = () =>
    hasFull(data)
      ? print.table(detectedHeadline(data.asDetected))
      : noneInFull(data, 'agreement with the reviewed beats, and of recorders');
  if (data.recorders.length < 2) return section('What the recorder makes of it', headline());
  return section(
    data.recorders.length === 2 ? 'Two recorders' : 'Recorders compared',
    (hasFull(data) ? print.table(differencesTable(data)) : '') + headline(),
  );
}

function ratersSection(data: ReportData, print: Printer): string {
  const { raters, allRaters } = data;
  const between = raters.total ? [print.table(ratersHeadline(data))] : ['<p>No session has two finished ratings.</p>'];
  const all = allRaters ? [print.table(allRatersTable(allRaters))] : [];
  const within = raters.repeated.length > 0 ? [print.table(repeatedTable(data))] : [];
  return section('Raters compared', [...between, ...all, ...within].join('\n'));
}

function examples({ examples: strips }: ReportFigures, print: Printer): string[] {
  if (strips.length === 0) return ['<p>No rater has commented on a place: there is nothing to show.</p>'];
  return strips.map(print.figure);
}

/** A part of the supplement: its title, and what it holds; left out when that is nothing. */
type Part = readonly [title: string, content: (print: Printer) => readonly string[]];

/** Tables and figures in detail, after the main part. */
function supplement(parts: readonly Part[]): string {
  const print = printer(captions(true));
  const html = parts.flatMap(([title, content]) => {
    const made = content(print);
    return made.length > 0 ? [`<h3>${esc(title)}</h3>`, ...made] : [];
  });
  return section('Supplement', html.join('\n'), 'report-appendix');
}

function detailedParts(data: ReportData, figures: ReportFigures): readonly Part[] {
  const pairOf = (pair: ReportData['agreement'][number], i: number, print: Printer) => {
    const [limits, errors] = agreementTables(pair, i + 1);
    return [print.table(limits!), print.figure(figures.agreement[i]!), print.table(errors!)];
  };
  const { study, asDetected, clocks, raters } = data;
  return [
    ['Quality with other intervals', print => (hasFull(data) ? [print.table(otherIntervalsTable(data))] : [])],
    [
      'Recorders as detected, mistakes included',
      print =>
        (hasFull(data) ? asDetected : []).flatMap((comparison, i) =>
          detectedTables(comparison, i + 1).map(print.table),
        ),
    ],
    [
      'Only what both recorders have',
      print => (hasFull(data) ? data.agreement : []).flatMap((pair, i) => pairOf(pair, i, print)),
    ],
    ['Clocks', print => (clocks.length > 0 ? [print.table(clocksTable(data))] : [])],
    ['Raters compared, by activity', print => (raters.rows.length > 0 ? [print.table(ratersTable(data))] : [])],
    ['Raters over time', print => (data.ratersByWeek.length > 0 ? [print.table(weeksTable(data))] : [])],
    ['Heart rate and HRV over volunteers', print => (hasFull(data) ? hrvSummaryTables(data) : []).map(print.table)],
    ['Heart rate and HRV of every segment', print => hrvDetailTables(data).map(print.table)],
    ['Tachograms and spectra of every segment', print => figures.curves.map(print.figure)],
    ['Examples picked by the raters', print => examples(figures, print)],
    ['Audit', print => [print.table(auditSummary(data))]],
    ['Protocol', () => (study?.protocol ? [`<p class="report-protocol">${esc(study.protocol)}</p>`] : [])],
    ['What the intervals are worth', print => coverageTables().map(print.table)],
    settingsPart(data),
  ];
}

function settingsPart(data: ReportData): Part {
  return ['Recordings and settings', print => [recordingsTable(data), settingsTable(data)].map(print.table)];
}

/** Tables and figures as HTML, each under its number. */
interface Printer {
  readonly table: (t: ReportTable) => string;
  readonly figure: (figure: Figure) => string;
}

function printer(numbers: Captions): Printer {
  return {
    table: t => tableHtml(t, numbers.table()),
    figure: figure => figureHtml(figure, numbers.figure()),
  };
}

function tableHtml(t: ReportTable, number: string): string {
  const head = t.head.map((h, k) => `<th scope="col"${k < t.rowHeads ? ' class="first"' : ''}>${esc(h)}</th>`).join('');
  const rows = t.rows.map((row, i) => `<tr>${row.map((cell, k) => cellHtml(t, cell, i, k)).join('')}</tr>`).join('\n');
  const notes = t.notes
    .filter(n => n.length > 1)
    .map(n => `<p class="report-note">${esc(n)}</p>`)
    .join('');
  return `<div class="report-table"><table id="${t.id}"><caption><strong>${number}</strong> ${esc(t.caption)}</caption><thead><tr>${head}</tr></thead><tbody>
${rows}
</tbody></table>${notes}</div>`;
}

/** A heading that repeats the one above stays for who listens, and is faint for who looks. */
function cellHtml(t: ReportTable, cell: string, row: number, column: number): string {
  if (column >= t.rowHeads) return `<td>${esc(cell)}</td>`;
  const repeats = column === 0 && t.rowHeads > 1 && t.rows[row - 1]?.[0] === cell;
  return `<th scope="row"${repeats ? ' class="repeats"' : ''}>${esc(cell)}</th>`;
}

function figureHtml(figure: Figure, number: string): string {
  return `<figure id="${figure.id}" data-figure="${figure.id}"><figcaption><strong>${number}</strong> ${esc(figure.title)}. <span class="report-legend">${esc(figure.legend)}</span></figcaption>${figureSvg({ ...figure, id: `${figure.id}-drawing` }, false)}
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
