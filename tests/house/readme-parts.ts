import { keyLabel } from '../../src/commands/key-press';
import { allCommands } from '../../src/commands/scenes';
import type { Accuracy, DetectorRow, QueueRow } from '../bench/accuracy';
import { apexTable } from './apex-table';
import { calibrationTables } from './calibration-tables';
import { noiseCharacterTable, sampleRatioTable } from './noise-character-table';
import { noiseTables } from './noise-tables';
import { notSinusTables } from './not-sinus-tables';

/** Named parts of a document that stand between `<!-- name -->` and `<!-- /name -->`. */
export type Parts = Readonly<Record<string, string>>;

interface KeyRow {
  readonly way: string;
  readonly segment: string;
  readonly total: number;
  readonly bound: number;
  readonly left: number;
}

interface LastRun {
  readonly machine: string;
  readonly results: readonly {
    readonly name: string;
    readonly says: string;
    readonly figures: readonly { of: string; value: number; unit: string; limit: number | null }[];
  }[];
}

/** The keys of the first hour, by the ids of their commands; the help sheet has all. */
export const firstKeys = [
  'place.next',
  'mark.next',
  'page.accept',
  'suspicion.take',
  'suspicion.dismiss',
  'mark.snap',
  'mark.insert',
  'mark.remove',
  'span.unreadable',
  'edit.undo',
  'segment.signOff',
  'help.open',
];

/** Each document with its generated parts; the texts are those of the stored results. */
export function generatedParts(
  lastRun: string,
  accuracy: string,
  keysBefore: string,
  keysNow: string,
  noise: string,
  notSinus: string,
  calibration: string,
  noiseCharacter: string,
  sampleNoise: string,
  apex: string,
): Readonly<Record<string, Parts>> {
  const run: LastRun = JSON.parse(lastRun);
  const measured: Accuracy = JSON.parse(accuracy);
  const walked: KeyRow[] = [...JSON.parse(keysBefore), ...JSON.parse(keysNow)];
  return {
    'README.md': { keys: keyTable(), headlines: headlines(run, measured) },
    'tests/bench/README.md': {
      accuracy: accuracyTables(measured),
      calibration: calibrationTables(calibration),
      'keys pressed': keysTable(walked),
      performance: performanceTable(run),
      noise: noiseTables(noise),
      'noise character': noiseCharacterTable(noiseCharacter, sampleNoise),
      'sample noise': sampleRatioTable(sampleNoise),
      'snapped marks': apexTable(apex),
      'not sinus': notSinusTables(notSinus),
    },
  };
}

/** `document` names the text in errors. */
export function withParts(document: string, text: string, parts: Parts): string {
  let out = text;
  for (const [name, body] of Object.entries(parts)) {
    const open = `<!-- ${name} -->`;
    const close = `<!-- /${name} -->`;
    const [a, b] = [out.indexOf(open), out.indexOf(close)];
    if (a === -1 || b < a) throw new Error(`${document} has no part called ${name}`);
    out = `${out.slice(0, a + open.length)}\n${body}\n${out.slice(b)}`;
  }
  return out;
}

function keyTable(): string {
  const rows = firstKeys.map(id => {
    const command = allCommands.find(c => c.id === id);
    if (!command) throw new Error(`no command is called ${id}`);
    return `| ${command.keys.map(key => `\`${keyLabel(key)}\``).join(' or ')} | ${command.title} |`;
  });
  return ['| key | does |', '| --- | --- |', ...rows].join('\n');
}

function keysTable(rows: readonly KeyRow[]): string {
  const segments = [...new Set(rows.map(r => r.segment))];
  const header = [
    '| way of working | segment | keys | bound | times the bound | mistakes left |',
    '| --- | --- | --- | --- | --- | --- |',
  ];
  const lines = [...new Set(rows.map(r => r.way))].flatMap(way =>
    [...segments, 'all'].map(segment => {
      const own = rows.filter(r => r.way === way && (segment === 'all' || r.segment === segment));
      const sum = (of: (r: KeyRow) => number) => own.reduce((n, r) => n + of(r), 0);
      const [keys, bound] = [sum(r => r.total), sum(r => r.bound)];
      return `| ${way} | ${segment} | ${keys} | ${bound} | ${(keys / bound).toFixed(2)} | ${sum(r => r.left)} |`;
    }),
  );
  return [...header, ...lines].join('\n');
}

function headlines(run: LastRun, { detector, queue }: Accuracy): string {
  const figure = (bench: string, of: string) => {
    const found = run.results.find(r => r.name === bench)?.figures.find(f => f.of === of);
    if (!found) throw new Error(`the last run has no figure "${of}" of ${bench}`);
    return `${found.value.toFixed(found.value < 10 ? 1 : 0)} ${found.unit}`;
  };
  const gross = detector?.find(r => r.label === 'gross')?.ours;
  if (!gross || !queue) throw new Error('the stored accuracy has no gross row or no queue');
  const percent = (part: number, whole: number) => `${((100 * part) / whole).toFixed(2)} %`;
  const planted = queue.filter(r => r.kind === 'all');
  const sum = (of: (r: QueueRow) => number) => planted.reduce((total, r) => total + of(r), 0);
  return [
    '| what | figure |',
    '| --- | --- |',
    `| detector, eight open records: sensitivity, positive predictive value | ${percent(gross.tp, gross.tp + gross.fn)}, ${percent(gross.tp, gross.tp + gross.fp)} |`,
    `| planted mistakes in the first 5 % of the queue | ${percent(
      sum(r => r.ours[2]!),
      sum(r => r.total),
    )} |`,
    `| counts on the screen after a key, 24 hours | ${figure('edit', '24 h, 106174 marks: counts')} |`,
    `| scoring 100,000 marks | ${figure('score', '24 h: matching and scoring')} |`,
    `| import until a strip can be shown, 24 hours | ${figure('import', '24 h, until a strip can be shown')} |`,
    `| report on the demo study, first time | ${figure('report', 'browser, cold, middle of five')} |`,
  ].join('\n');
}

function performanceTable({ machine, results }: LastRun): string {
  const number = (n: number, unit: string) => `${n.toFixed(n < 10 ? 2 : 0)} ${unit}`;
  const rows = results.flatMap(r =>
    r.figures.map(
      f => `| ${r.name} | ${f.of} | ${number(f.value, f.unit)} | ${f.limit === null ? '' : number(f.limit, f.unit)} |`,
    ),
  );
  return [`Last run on ${machine}.`, '', '| | what | measured | limit |', '| --- | --- | --- | --- |', ...rows].join(
    '\n',
  );
}

function accuracyTables({ detector, queue }: Accuracy): string {
  return [detector ? detectorTable(detector) : '', queue ? queueTable(queue) : ''].filter(t => t !== '').join('\n\n');
}
function detectorTable(rows: readonly DetectorRow[]): string {
  const rates = ({ tp, fn, fp }: DetectorRow['ours']) =>
    [tp / (tp + fn), tp / (tp + fp), (2 * tp) / (2 * tp + fn + fp)].map(v => (100 * v).toFixed(2)).join(' | ');
  return [
    'Detector: sensitivity, positive predictive value and F1 in % within 150 ms, beat by beat over whole records; the rows in',
    'dB are records 100 and 119 with electrode-motion noise, simulated and measured; beside a plain band-pass with peak finding.',
    '',
    '| record | missed | extra | Se | PPV | F1 | plain: Se | PPV | F1 |',
    '| --- | --- | --- | --- | --- | --- | --- | --- | --- |',
    ...rows.map(r => `| ${r.label} | ${r.ours.fn} | ${r.ours.fp} | ${rates(r.ours)} | ${rates(r.plain)} |`),
  ].join('\n');
}

function queueTable(rows: readonly QueueRow[]): string {
  const shares = (found: readonly number[], total: number) =>
    found.map(n => (total === 0 ? '' : ((100 * n) / total).toFixed(1))).join(' | ');
  return [
    'Queue: share in % of planted mistakes that lie in the top 1, 2 and 5 % of beats, beside ranking by RR interval alone.',
    '',
    '| rhythm | mistake | planted | 1 % | 2 % | 5 % | by RR: 1 % | 2 % | 5 % |',
    '| --- | --- | --- | --- | --- | --- | --- | --- | --- |',
    ...rows.map(
      r => `| ${r.label} | ${r.kind} | ${r.total} | ${shares(r.ours, r.total)} | ${shares(r.baseline, r.total)} |`,
    ),
  ].join('\n');
}
