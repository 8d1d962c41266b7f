import { mkdirSync, readdirSync, renameSync, rmSync, writeFileSync } from 'node:fs';
import { basename, dirname, join } from 'node:path';
import { csvMetadataName } from '../../formats/csv/metadata';
import type { CliCommand, Given } from '../command';
import { problemOf } from '../problem';
import { partPrefix } from '../whole';
import type { Task } from './tasks';

/** How a task went. */
export interface Outcome {
  /** What went wrong, or null. */
  readonly problem: string | null;
  /** What is doubtful about the result, or was left out. */
  readonly doubts: readonly string[];
}

/** Runs a command for one file. The result appears under its name only when it is whole. */
export async function runOne(command: CliCommand, given: Given, task: Task): Promise<Outcome> {
  const doubts: string[] = [];
  return { problem: await problemIn(command, given, task, text => void doubts.push(text)), doubts };
}

async function problemIn(
  command: CliCommand,
  given: Given,
  { input, target }: Task,
  doubt: (text: string) => void,
): Promise<string | null> {
  // A hidden folder, so that the command writes under the very names that its files will have.
  const folder = join(dirname(target), partPrefix + basename(target));
  const partial = join(folder, basename(target));
  try {
    mkdirSync(folder);
    const flags = { ...given.flags };
    for (const name of ['out', 'jobs', 'again', 'to']) delete flags[name];
    const lines: string[] = [];
    const files = command.many?.writes ? [input, partial] : [input];
    if (command.many?.writes) flags['force'] = true;
    if (saysBeside(command, partial)) flags['provenance'] = csvMetadataName(partial);
    const output = { print: (text: string) => void lines.push(text), note: () => undefined, doubt };
    const code = await command.run({ files, flags }, output);
    if (code) return lines.join(' ') || `exit code ${code}`;
    if (!command.many?.writes) writeFileSync(partial, `${lines.join('\n')}\n`);
    // What lies beside the result goes first: where the result is, all of it is.
    const beside = readdirSync(folder).filter(name => name !== basename(target));
    for (const name of [...beside, basename(target)]) renameSync(join(folder, name), join(dirname(target), name));
    return null;
  } catch (error) {
    return problemOf(error);
  } finally {
    rmSync(folder, { force: true, recursive: true });
  }
}

/** A table that is printed has its provenance in a file beside it; JSON has its own. */
function saysBeside({ flags, many }: CliCommand, result: string): boolean {
  return 'provenance' in flags && !many?.writes && !result.endsWith('.json');
}
