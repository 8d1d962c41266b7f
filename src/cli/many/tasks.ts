import { readdirSync, statSync } from 'node:fs';
import { basename, join } from 'node:path';
import { type Given, type ManyFiles, UsageError } from '../command';

/** One file, and where its result goes. */
export interface Task {
  readonly input: string;
  readonly target: string;
}

/**
 * A task for each file given, and for each file that lies directly in a folder given, hidden ones left out; in order of
 * folder and name. A file that is not there is a task too: it fails when its turn comes.
 */
export function tasksFor(many: ManyFiles, given: Given, folder: string): Task[] {
  if (given.files.length === 0) throw new UsageError('--out needs files, or a folder of them');
  const inputs = [...new Set(given.files.flatMap(filesOf))];
  const ending = many.ending(given);
  const tasks = inputs.map(input => ({ input, target: join(folder, resultName(input, ending, many.writes === true)) }));
  const taken = new Map<string, string>();
  for (const { input, target } of tasks) {
    const other = taken.get(target);
    if (other !== undefined)
      throw new UsageError(`${other} and ${input} would both become ${target}: give them with an --out of their own`);
    taken.set(target, input);
  }
  return tasks;
}

function filesOf(path: string): string[] {
  if (!statSync(path, { throwIfNoEntry: false })?.isDirectory()) return [path];
  const inside = readdirSync(path, { withFileTypes: true }).filter(e => !e.isDirectory() && !e.name.startsWith('.'));
  return inside.map(e => join(path, e.name)).sort();
}

/** 'rest.edf.json' of rest.edf; of a file that is converted, the new ending instead of the old one. */
function resultName(input: string, ending: string, instead: boolean): string {
  const name = basename(input);
  return `${instead ? name.replace(/(\.[^.]+)?(\.gz)?$/i, '') || name : name}.${ending}`;
}

/** Whether the result is there and not older than its file. */
export function isDone({ input, target }: Task): boolean {
  const result = statSync(target, { throwIfNoEntry: false });
  const source = statSync(input, { throwIfNoEntry: false });
  return result !== undefined && source !== undefined && result.mtimeMs >= source.mtimeMs;
}
