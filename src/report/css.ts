/**
 * How a report looks on the screen and on paper, A4 and Letter alike: the text block is the same width on both, so that a
 * table that fits one fits the other. The page of the program and the file of its own use the same rules.
 */
const rules = `.report {
  --report-ink: light-dark(#16223c, #e9e5d8);
  --report-soft: light-dark(#58607a, #aba798);
  --report-rule: light-dark(#cdc3ab, #4b4c48);
  color: var(--report-ink);
  font: 14px/1.45 system-ui, -apple-system, "Segoe UI", "DejaVu Sans", sans-serif;
  font-variant-numeric: tabular-nums;
  max-width: 60rem;
  margin: 0 auto;
  padding: 1.5rem;
}
.report h1 { font-size: 1.6em; margin: 0; }
.report h2 { font-size: 1.25em; margin: 2em 0 0.4em; border-bottom: 2px solid var(--report-ink); break-after: avoid; }
.report h3 { font-size: 1.05em; margin: 1.5em 0 0.3em; break-after: avoid; }
.report p { margin: 0.5em 0; max-width: 52rem; }
.report .report-sub, .report .report-note { color: var(--report-soft); }
.report .report-note { font-size: 0.82em; margin: 0.2em 0; }
.report .report-protocol { white-space: pre-wrap; }
.report .report-cautions { border-left: 3px solid #97420a; padding-left: 0.9rem; }
.report .report-cautions h2 { border: 0; margin-top: 1em; }
.report .report-table { margin: 1.2em 0; overflow-x: auto; }
.report table { border-collapse: collapse; width: 100%; }
.report caption { text-align: left; font-weight: 600; padding: 0.3em 0; }
.report th, .report td { padding: 0.2em 0.45em; border-bottom: 1px solid var(--report-rule); vertical-align: top; text-align: right; white-space: normal; font-size: 0.88em; }
.report th { text-align: left; font-weight: 600; color: var(--report-ink); }
.report thead th { border-bottom: 1.5px solid var(--report-ink); vertical-align: bottom; color: var(--report-soft); }
.report thead th:not(.first) { text-align: right; }
.report tbody th { font-weight: 500; }
.report tbody th:first-child { font-weight: 600; }
.report th.repeats { color: var(--report-soft); font-weight: 400; }
.report #table-settings td, .report #table-recordings td, .report #table-checklist td, .report #table-settings thead th, .report #table-recordings thead th, .report #table-checklist thead th { text-align: left; overflow-wrap: anywhere; }
.report #table-recordings td:is(:nth-child(4), :nth-child(5), :nth-child(6)) { white-space: nowrap; }
.report [id^="table-coverage-"] :is(th, td) { font-size: 0.74em; padding: 0.2em 0.25em; }
.report #table-hrv-summary :is(:nth-child(2), :last-child) { white-space: nowrap; }
.report figure { margin: 1.4em 0; break-inside: avoid; }
.report figure svg { max-width: 100%; height: auto; color: var(--report-ink); }
.report figcaption { font-weight: 600; margin-bottom: 0.4em; max-width: 52rem; }
.report .report-legend { font-weight: 400; color: var(--report-soft); }
.report details { font-size: 0.9em; }
.report summary { cursor: pointer; color: var(--report-soft); }
.report section { display: block; }
@media print {
  :root { color-scheme: light !important; background: #fff !important; }
  body { margin: 0; background: #fff; }
  .no-print { display: none !important; }
  .report { --report-ink: #111; --report-soft: #444; --report-rule: #999; font-size: 9.5pt; max-width: none; padding: 0; }
  .report .report-table { overflow: visible; }
  .report p { orphans: 3; widows: 3; }
  .report th, .report td { font-size: 7.6pt; padding: 0.15em 0.3em; }
  .report caption, .report figcaption { font-size: 9pt; }
  .report figcaption { break-after: avoid; }
  .report .report-legend { font-size: 7.6pt; }
  .report .report-note { font-size: 7.4pt; }
  .report thead { display: table-header-group; }
  .report tr { break-inside: avoid; }
  .report caption, .report thead { break-after: avoid; break-inside: avoid; }
  .report tbody tr:nth-child(-n + 3) { break-before: avoid; }
  .report tbody tr:nth-last-child(-n + 2) { break-before: avoid; }
  .report [id^="table-coverage-"] :is(th, td) { font-size: 6.8pt; padding: 0.15em 0.2em; }
  .report [id^="table-hrv-"] td, .report [id^="table-hrv-"] th { font-size: 6.8pt; }
  .report .report-appendix { break-before: page; }
}
`;

/** A text in CSS: everything but letters, digits and blanks by its code. */
const cssText = (words: string) => `"${words.replace(/[^\w .,:-]/gu, c => `\\${c.codePointAt(0)!.toString(16)} `)}"`;

/** The rules, with `foot` and the number of the page at the foot of each printed page. */
export function reportCss(foot: string): string {
  const font =
    'font: 7pt system-ui, "Segoe UI", "DejaVu Sans", sans-serif; color: #444; vertical-align: top; padding-top: 3mm;';
  return `${rules}@page {
  margin: 14mm 15mm 17mm;
  @bottom-left { content: ${cssText(foot)}; ${font} }
  @bottom-right { content: counter(page) " / " counter(pages); ${font} }
}
`;
}
