import { FormatError } from '../formats/format-error';
import { type CliCommand, didYouMean, helpText, type Output, parseGiven, UsageError } from './command';
import { scoreCommand } from './score';

const commands: readonly CliCommand[] = [scoreCommand];

const output: Output = {
  print: text => process.stdout.write(`${text}\n`),
  note: text => process.stderr.write(`note: ${text}\n`),
};

function overview(): string {
  const width = Math.max(...commands.map(c => c.name.length));
  return [
    'usage: npm run -s cli -- COMMAND [files and flags]',
    '',
    ...commands.map(c => `  ${c.name.padEnd(width)}  ${c.summary}`),
    '',
    'COMMAND --help says more. Errors go to stderr with exit code 2.',
  ].join('\n');
}

async function run(args: readonly string[]): Promise<number> {
  const [name, ...rest] = args;
  if (name === undefined || name === '--help' || name === 'help') {
    output.print(overview());
    return name === undefined ? 2 : 0;
  }
  const command = commands.find(c => c.name === name);
  if (!command) {
    const names = commands.map(c => c.name);
    throw new UsageError(`there is no command ${name}${didYouMean(name, names) || `; there are ${names.join(', ')}`}`);
  }
  if (rest.includes('--help')) {
    output.print(helpText(command));
    return 0;
  }
  return (await command.run(parseGiven(command, rest), output)) ?? 0;
}

/** Anything else that is thrown is a bug; it is reported as one, still without a page of stack. */
function problemOf(error: unknown): string {
  if (error instanceof UsageError || error instanceof FormatError) return error.message;
  if (error instanceof Error && 'code' in error) return error.message;
  return `this should not happen: ${error instanceof Error ? `${error.name}: ${error.message}` : String(error)}`;
}

try {
  process.exitCode = await run(process.argv.slice(2));
} catch (error) {
  process.stderr.write(`error: ${problemOf(error)}\n`);
  process.exitCode = 2;
}
