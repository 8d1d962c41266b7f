import { FormatError } from '../formats/format-error';
import { type CliCommand, didYouMean, helpText, type Output, parseGiven, UsageError } from './command';

/** Each command is loaded when it is asked for, so that one does not wait for the others' code. */
const commands: Readonly<Record<string, { readonly summary: string; load(): Promise<CliCommand> }>> = {
  score: {
    summary: 'quality of detected marks against reviewed ones, per segment',
    load: async () => (await import('./score')).scoreCommand,
  },
  detect: {
    summary: 'R peaks by the built-in detector',
    load: async () => (await import('./detect')).detectCommand,
  },
  convert: {
    summary: 'between EDF+, text, raw words, session bundles and lists of marks',
    load: async () => (await import('./convert')).convertCommand,
  },
  check: {
    summary: 'checks a session bundle',
    load: async () => (await import('./check')).checkCommand,
  },
  audit: {
    summary: "whether a lab's store, or a copy of it, is as it was written",
    load: async () => (await import('./audit')).auditCommand,
  },
  report: {
    summary: 'report on a study: HTML, figures, and every number as JSON and CSV',
    load: async () => (await import('./report')).reportCommand,
  },
  sample: {
    summary: 'plans a sampled review: stretches, classes, bounds, order',
    load: async () => (await import('./sample')).sampleCommand,
  },
  'sample-interval': {
    summary: 'estimate and interval of a sampled review from plain numbers',
    load: async () => (await import('./sample-interval')).sampleIntervalCommand,
  },
  'self-check': {
    summary: 'recomputes examples with known answers on this machine',
    load: async () => (await import('./self-check')).selfCheckCommand,
  },
  schema: {
    summary: 'prints the JSON Schema of the session bundle',
    load: async () => (await import('./schema')).schemaCommand,
  },
};

function overview(): string {
  const width = Math.max(...Object.keys(commands).map(name => name.length));
  return [
    'usage: beat-ledger COMMAND [files and flags]',
    '',
    ...Object.entries(commands).map(([name, { summary }]) => `  ${name.padEnd(width)}  ${summary}`),
    '',
    'COMMAND --help says more. Errors go to stderr with exit code 2.',
  ].join('\n');
}

async function dispatch(args: readonly string[], output: Output): Promise<number> {
  const [name, ...rest] = args;
  if (name === undefined || name === '--help' || name === 'help') {
    output.print(overview());
    return name === undefined ? 2 : 0;
  }
  const names = Object.keys(commands);
  if (!Object.hasOwn(commands, name)) {
    throw new UsageError(`there is no command ${name}${didYouMean(name, names) || `; there are ${names.join(', ')}`}`);
  }
  return runParsed(await commands[name]!.load(), rest, output);
}

async function runParsed(command: CliCommand, args: readonly string[], output: Output): Promise<number> {
  if (args.includes('--help')) {
    output.print(helpText(command));
    return 0;
  }
  return (await command.run(parseGiven(command, args), output)) ?? 0;
}

type Terminal = Output & { fail(text: string): void };

/** Runs the command that is named first and returns the exit code; errors are printed in one line, never thrown. */
export function runCli(args: readonly string[], output: Terminal): Promise<number> {
  return reporting(output, () => dispatch(args, output));
}

/** The same for a program that is one command. */
export function runCommand(command: CliCommand, args: readonly string[], output: Terminal): Promise<number> {
  return reporting(output, () => runParsed(command, args, output));
}

async function reporting(output: Terminal, run: () => Promise<number>): Promise<number> {
  try {
    return await run();
  } catch (error) {
    output.fail(problemOf(error));
    return 2;
  }
}

/** Anything but a refusal is a bug; it is reported as one, still without a page of stack. */
function problemOf(error: unknown): string {
  if (error instanceof UsageError || error instanceof FormatError) return error.message;
  if (error instanceof Error && 'code' in error) return error.message;
  return `this should not happen: ${error instanceof Error ? `${error.name}: ${error.message}` : String(error)}`;
}
