import type { ReportData } from '../core/report/report';
import { agreementCsv, clocksCsv, detectedCsv } from './csv/agreement-csv';
import { codebook } from './csv/codebook';
import { type DataTable, tableCsv } from './csv/column';
import { hrvCsv, hrvSeriesCsv, spectraCsv, tachogramsCsv } from './csv/hrv-csv';
import { differencesCsv, mistakesCsv, qualityCsv, segmentsCsv, tolerancesCsv, volunteersCsv } from './csv/quality-csv';
import { tidyQualityCsv } from './csv/quality-tidy';
import { secondDetectorCsv } from './csv/second-csv';
import { allRatersCsv, auditCsv, planningCsv, ratersCsv, repeatedCsv, settingsCsv, weeksCsv } from './csv/study-csv';
import { figureSvg } from './figures/figure';
import { reportHtml } from './html';
import { recomputeText } from './recompute';
import { allFigures, figureFacts, narrowCurves, narrowFigures, reportFigures } from './report-figures';

/** One file of a report, as text. Nothing of it depends on when or where it was written. */
export interface ReportFile {
  readonly path: string;
  readonly type: 'text/html' | 'application/json' | 'text/csv' | 'text/markdown' | 'image/svg+xml';
  readonly text: string;
}

const tables: Readonly<Record<string, (data: ReportData) => DataTable>> = {
  segments: segmentsCsv,
  quality: qualityCsv,
  'quality-tidy': tidyQualityCsv,
  'quality-by-volunteer': volunteersCsv,
  tolerances: tolerancesCsv,
  mistakes: mistakesCsv,
  'second-detector': secondDetectorCsv,
  differences: differencesCsv,
  'agreement-as-detected': detectedCsv,
  agreement: agreementCsv,
  clocks: clocksCsv,
  raters: ratersCsv,
  'all-raters': allRatersCsv,
  'raters-repeated': repeatedCsv,
  'raters-by-week': weeksCsv,
  hrv: hrvCsv,
  'hrv-series': hrvSeriesCsv,
  tachograms: tachogramsCsv,
  spectra: spectraCsv,
  planning: planningCsv,
  audit: auditCsv,
  settings: settingsCsv,
};

/**
 * The report with its machine-readable copy: report.json with every number and setting, tidy tables as CSV with a codebook
 * of their columns, each figure as SVG with the data behind it, report.html, and recompute.md, which says how to get the
 * same numbers again. What is drawn but in no table of numbers (curves, signal of the examples) is in the CSV files only.
 */
export function reportFiles(data: ReportData): ReportFile[] {
  const figures = reportFigures(data);
  const facts = figureFacts(data);
  const csv: [string, DataTable][] = [
    ...Object.entries(tables).map(([name, of]): [string, DataTable] => [`${name}.csv`, of(data)]),
    ...allFigures(figures).map((figure): [string, DataTable] => [`figures/${figure.id}.csv`, figure.data]),
  ];
  csv.push(['codebook.csv', codebook(csv)]);
  return [
    { path: 'report.html', type: 'text/html', text: reportHtml(data, figures) },
    { path: 'report.json', type: 'application/json', text: reportJson(data) },
    { path: 'recompute.md', type: 'text/markdown', text: recomputeText(data) },
    ...csv.map(([path, table]): ReportFile => ({ path, type: 'text/csv', text: tableCsv(table) })),
    ...[...allFigures(figures), ...narrowFigures(data), ...narrowCurves(data)].map((figure): ReportFile => {
      return { path: `figures/${figure.id}.svg`, type: 'image/svg+xml', text: figureSvg(figure, true, facts) };
    }),
  ];
}

/** Every number, without the curves and the signal. */
export function reportJson({ curves: _, agreement, examples, ...rest }: ReportData): string {
  const plain = {
    ...rest,
    agreement: agreement.map(({ points: __, ...pair }) => pair),
    examples: examples.map(({ millivolts: __, ...strip }) => strip),
  };
  return `${JSON.stringify(plain, null, 1)}\n`;
}
