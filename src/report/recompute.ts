import type { ReportData } from '../core/report/report';

/**
 * Which commands give the report's numbers again, from the bundles. The names of the bundles are those under which the
 * page exports them.
 */
export function recomputeText(data: ReportData): string {
  const { study, sessions } = data;
  const bundles = study ? [`${study.id}.zip`] : sessions.map(s => `${s.session}.zip`);
  const title = study ? '' : ` --title ${quoted(data.title)}`;
  return `# How to compute these numbers again

Written by ${data.writtenBy}. The same version, bundles and settings give the same numbers; across browsers and Node the last
digits may differ, as each rounds logarithms and sines its own way. Run \`npm ci && npm run build\` in a clone of the program;
then \`npx beat-ledger\` is the command below. ${study ? 'Export the study as one bundle' : 'Export each session as a bundle'} from the page, into the folder of this file.

## The whole report

    beat-ledger report ${bundles.map(quoted).join(' ')} --out again --like report.json${title}

writes every file of this folder again into \`again\`. All settings come from report.json: tolerance and window of the matching,
seed and draws of the bootstrap, seed of the planning, whether the second detector is asked, and the clocks that were set by hand.

## One session

${study ? `The study's bundle is a zip with one bundle for each session:\n\n    unzip ${quoted(bundles[0]!)}\n\n` : ''}${scoreCommands(data).join('\n')}

give the counts of segments.csv: \`right\`, \`judged\`, \`lost\` and the mistakes of each segment. A session's own bundle is scored with
its own settings; these are the study's unless it was scored before it was joined.

## Which file holds what

| file | numbers |
| --- | --- |
| segments.csv | counts of each segment of each recording |
| quality.csv, quality-tidy.csv, quality-by-volunteer.csv | quality with its intervals, from segments.csv |
| mistakes.csv, differences.csv, planning.csv | causes, recorders compared, volunteers needed, from segments.csv |
| tolerances.csv | quality with other tolerances of the matching |
| second-detector.csv | quality with what was left as found decided as the second detector says, where it was asked |
| agreement-as-detected.csv, agreement.csv, clocks.csv | recorders against the reviewed beats and each other |
| raters.csv, all-raters.csv, raters-repeated.csv, raters-by-week.csv, audit.csv | raters compared, and what each log consists of |
| hrv.csv, hrv-series.csv, tachograms.csv, spectra.csv | heart rate and HRV |
| settings.csv, report.json | every setting; report.json has every number |
| codebook.csv | each column of each of these files: meaning, unit, type, source |

## What they rest on

| session | volunteer | counted review | entries | last entry |
| --- | --- | --- | --- | --- |
${sessions.map(s => restsOn(s, data)).join('\n')}
`;
}

/** In single quotes where a shell would read it otherwise. */
function quoted(word: string): string {
  return /^[\w./-]+$/.test(word) ? word : `'${word.replaceAll("'", `'\\''`)}'`;
}

const logOf = ({ session, source }: ReportData['sessions'][number], { audit }: ReportData) =>
  audit.find(a => a.session === session && a.source === source);

function scoreCommands(data: ReportData): string[] {
  return data.sessions.flatMap(s => {
    const log = logOf(s, data);
    const bundle = quoted(`${data.study ? 'sessions/' : ''}${s.session}.zip`);
    return log ? [`    beat-ledger score ${bundle} --rater ${quoted(log.rater)} --json`] : [];
  });
}

function restsOn(s: ReportData['sessions'][number], data: ReportData): string {
  const log = logOf(s, data);
  const cell = (text: string) => text.replace(/[|<>\n]/g, ' ');
  return `| ${cell(s.session)} | ${cell(s.volunteer)} | ${cell(s.source ?? 'none')} | ${log?.entries ?? ''} | ${log?.lastHash ?? ''} |`;
}
