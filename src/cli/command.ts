import { parseArgs } from 'node:util';

/** A refusal for the person at the terminal: shown as one line, exit code 2. */
export class UsageError extends Error {}

export interface Flag {
  /** What the value is, e.g. 'HZ'; absent for a switch. */
  readonly value?: string;
  readonly about: string;
}

export interface Given {
  readonly files: readonly string[];
  readonly flags: Readonly<Record<string, string | true | undefined>>;
}

export interface Output {
  print(text: string): void;
  /** For the person, not for the next program. */
  note(text: string): void;
  /** What is doubtful or was left out; of many files, this alone is printed. */
  doubt(text: string): void;
}

/** How a command is given many files, one result each. */
export interface ManyFiles {
  /** Ending of a result, without the dot. */
  ending(given: Given): string;
  /** True where the command writes its result into a second file, whose ending takes the place of the first one's. */
  readonly writes?: boolean;
}

export interface CliCommand {
  readonly name: string;
  readonly summary: string;
  /** Ways to call it, without the name of the program. */
  readonly usage: readonly string[];
  readonly flags: Readonly<Record<string, Flag>>;
  readonly examples: readonly string[];
  readonly details?: string;
  /** Present where `--out DIR` gives it many files or folders (`manyFlags`). */
  readonly many?: ManyFiles;
  /** Returns the exit code; undefined means 0. */
  run(given: Given, output: Output): Promise<number | undefined> | number | undefined;
}

/** Splits arguments into files and flags; a flag that does not exist is refused with the nearest that does. */
export function parseGiven(command: CliCommand, args: readonly string[]): Given {
  const known: Record<string, Flag> = { ...command.flags, help: { about: 'shows this' } };
  const options = Object.fromEntries(
    Object.entries(known).map(([name, flag]) => [
      name,
      { type: flag.value ? ('string' as const) : ('boolean' as const) },
    ]),
  );
  const { tokens } = parseArgs({ args: [...args], options, strict: false, allowPositionals: true, tokens: true });
  const files: string[] = [];
  const flags: Record<string, string | true | undefined> = {};
  for (const token of tokens) {
    if (token.kind === 'positional') files.push(token.value);
    if (token.kind !== 'option') continue;
    const flag = Object.hasOwn(known, token.name) ? known[token.name] : undefined;
    if (!flag)
      throw new UsageError(
        `${command.name} has no ${token.rawName}${didYouMean(token.name, Object.keys(known), '--') || `: ${command.name} --help lists its flags`}`,
      );
    if (token.name in flags) throw new UsageError(`${token.rawName} is given twice`);
    flags[token.name] = flagValue(flag, token.rawName, token.value, token.inlineValue === true);
  }
  return { files, flags };
}

function flagValue(flag: Flag, name: string, value: string | undefined, inline: boolean): string | true {
  if (!flag.value) {
    if (value !== undefined) throw new UsageError(`${name} takes no value`);
    return true;
  }
  const isFlag = value !== undefined && !inline && /^-[^\d.]/.test(value);
  if (value === undefined || value === '' || isFlag) throw new UsageError(`${name} needs a value: ${flag.value}`);
  return value;
}

/** ': did you mean X?' when something known is close; else ''. */
export function didYouMean(name: string, known: readonly string[], prefix = ''): string {
  const ranked = known.map(k => ({ k, distance: editDistance(name, k) })).sort((a, b) => a.distance - b.distance);
  const best = ranked[0];
  const close = best && (best.distance <= Math.max(2, name.length / 3) || best.k.startsWith(name));
  return close ? `: did you mean ${prefix}${best.k}?` : '';
}

/** Levenshtein distance. */
function editDistance(a: string, b: string): number {
  let row = Array.from({ length: b.length + 1 }, (_, j) => j);
  for (let i = 1; i <= a.length; i++) {
    const next = [i];
    for (let j = 1; j <= b.length; j++) {
      const swap = row[j - 1]! + (a[i - 1] === b[j - 1] ? 0 : 1);
      next.push(Math.min(row[j]! + 1, next[j - 1]! + 1, swap));
    }
    row = next;
  }
  return row[b.length]!;
}

export function textFlag({ flags }: Given, name: string): string | undefined {
  const value = flags[name];
  return typeof value === 'string' ? value : undefined;
}

/** A number at least `min` (above it when `above`). */
export function numberFlag(given: Given, name: string, min: number, above = false): number | undefined {
  const text = textFlag(given, name);
  if (text === undefined) return undefined;
  const value = /^[-+]?(\d+\.?\d*|\.\d+)(e[-+]?\d+)?$/i.test(text) ? Number(text) : Number.NaN;
  if (!Number.isFinite(value) || value < min || (above && value === min)) {
    throw new UsageError(`--${name} needs a number ${above ? 'above' : 'of at least'} ${min}, not ${text}`);
  }
  return value;
}

export function helpText(command: CliCommand): string {
  const flags = Object.entries({ ...command.flags, help: { about: 'shows this' } as Flag });
  const left = flags.map(([name, flag]) => `  --${name}${flag.value ? ` ${flag.value}` : ''}`);
  const width = Math.max(...left.map(l => l.length));
  return [
    `${command.name}: ${command.summary}`,
    '',
    ...command.usage.map((line, i) => `${i === 0 ? 'usage: ' : '       '}${line}`),
    '',
    ...flags.map(([, flag], i) => `${left[i]!.padEnd(width)}  ${flag.about}`),
    ...(command.details ? ['', command.details] : []),
    ...(command.examples.length > 0 ? ['', 'examples:'] : []),
    ...command.examples.map(e => `  beat-ledger ${e}`),
  ].join('\n');
}
