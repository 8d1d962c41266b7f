import { type CliCommand, didYouMean, helpText, type Output, parseGiven, UsageError } from './command';
import { commands } from './commands';
import { runMany } from './many/many';
import { problemOf } from './problem';

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

async function dispatch(args: readonly string[], output: Output, program: URL | null): Promise<number> {
  const [name, ...rest] = args;
  if (name === undefined || name === '--help' || name === 'help') {
    output.print(overview());
    return name === undefined ? 2 : 0;
  }
  const names = Object.keys(commands);
  if (!Object.hasOwn(commands, name)) {
    throw new UsageError(`there is no command ${name}${didYouMean(name, names) || `; there are ${names.join(', ')}`}`);
  }
  return runParsed(await commands[name]!.load(), rest, output, program);
}

async function runParsed(
  command: CliCommand,
  args: readonly string[],
  output: Output,
  program: URL | null,
): Promise<number> {
  if (args.includes('--help')) {
    output.print(helpText(command));
    return 0;
  }
  const given = parseGiven(command, args);
  if (command.many && given.flags['out'] !== undefined) return runMany(command, given, output, program);
  return (await command.run(given, output)) ?? 0;
}

type Terminal = Output & { fail(text: string): void };

/**
 * Runs the command that is named first and returns the exit code; errors are printed in one line, never thrown. Many files
 * are worked on by threads that run `program`, or without it one after the other.
 */
export function runCli(args: readonly string[], output: Terminal, program: URL | null = null): Promise<number> {
  return reporting(output, () => dispatch(args, output, program));
}

/** The same for a program that is one command. */
export function runCommand(command: CliCommand, args: readonly string[], output: Terminal): Promise<number> {
  return reporting(output, () => runParsed(command, args, output, null));
}

async function reporting(output: Terminal, run: () => Promise<number>): Promise<number> {
  try {
    return await run();
  } catch (error) {
    output.fail(problemOf(error));
    return 2;
  }
}
