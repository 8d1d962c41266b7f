import { keyLabel } from '../../src/commands/command';
import { allCommands } from '../../src/commands/scenes';

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

export function generatedParts(lastRun: string | null): Parts {
  return { keys: keyTable(), ...(lastRun ? { performance: performanceTable(JSON.parse(lastRun)) } : {}) };
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
