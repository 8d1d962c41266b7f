import { keyLabel } from '../../src/commands/command';
import { allCommands } from '../../src/commands/scenes';
import type { Accuracy, DetectorRow, QueueRow } from '../bench/accuracy';

/** Named parts of README.md that stand between `<!-- name -->` and `<!-- /name -->`. */
export type Parts = Readonly<Record<string, string>>;

interface LastRun {
  readonly machine: string;
  readonly results: readonly {
    readonly name: string;
    readonly says: string;
    readonly figures: readonly { of: string; value: number; unit: string; limit: number | null }[];
  }[];
}

/** `lastRun` and `accuracy` are the texts of the stored results, null where there are none. */
export function generatedParts(lastRun: string | null, accuracy: string | null): Parts {
  return {
    keys: keyTable(),
    ...(lastRun ? { performance: performanceTable(JSON.parse(lastRun)) } : {}),
    ...(accuracy ? { accuracy: accuracyTables(JSON.parse(accuracy)) } : {}),
  };
}

export function withParts(text: string, parts: Parts): string {
  let out = text;
  for (const [name, body] of Object.entries(parts)) {
    const open = `<!-- ${name} -->`;
    const close = `<!-- /${name} -->`;
    const [a, b] = [out.indexOf(open), out.indexOf(close)];
    if (a === -1 || b < a) throw new Error(`README.md has no part called ${name}`);
    out = `${out.slice(0, a + open.length)}\n${body}\n${out.slice(b)}`;
  }
  return out;
}

function keyTable(): string {
  const commands = allCommands.filter(c => c.scene === 'review' || c.scene === 'anywhere');
  const rows = commands.map(c => `| ${c.group} | ${c.keys.map(code).join(' or ')} | ${c.title} | ${c.why} |`);
  return ['| | key | does | because |', '| --- | --- | --- | --- |', ...rows].join('\n');
}

const code = (key: string) => `\`${keyLabel(key)}\``;

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
    'dB are records 100 and 119 with simulated electrode-motion noise; beside a plain band-pass with peak finding.',
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
