import { renameSync, rmSync, writeFileSync } from 'node:fs';
import { basename, dirname, join } from 'node:path';
import type { CliCommand, Given } from '../command';
import { problemOf } from '../problem';
import type { Task } from './tasks';

/**
 * Runs a command for one file. The result appears under its name only when it is whole. Returns what went wrong, or null.
 */
export async function runOne(command: CliCommand, given: Given, { input, target }: Task): Promise<string | null> {
  // Hidden, and with the ending that says what to write.
  const partial = join(dirname(target), `.part-${process.pid}-${basename(target)}`);
  try {
    const flags = { ...given.flags };
    for (const name of ['out', 'jobs', 'again', 'to']) delete flags[name];
    const lines: string[] = [];
    const files = command.many?.writes ? [input, partial] : [input];
    if (command.many?.writes) flags['force'] = true;
    const code = await command.run({ files, flags }, { print: text => void lines.push(text), note: () => undefined });
    if (code) return lines.join(' ') || `exit code ${code}`;
    if (!command.many?.writes) writeFileSync(partial, `${lines.join('\n')}\n`);
    renameSync(partial, target);
    return null;
  } catch (error) {
    rmSync(partial, { force: true });
    return problemOf(error);
  }
}
