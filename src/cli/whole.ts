import { existsSync, mkdirSync, realpathSync, renameSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { basename, dirname, join } from 'node:path';
import { UsageError } from './command';

export interface WholeFile {
  readonly path: string;
  readonly content: Uint8Array | string;
}

/** Beginning of the hidden names under which this process writes before a file is whole. */
export const partPrefix = `.part-${process.pid}-`;

/**
 * Writes all of the files or none: each under a hidden name first, on the same disk, and only when all are there under its
 * own. Folders are made where they are absent. A UsageError when one is there already, but with `over`, and when what is
 * there is no file. A file that others may not read stays so, and one behind a link is written over where it is.
 * An interrupt meanwhile is let pass: hardly anything comes after.
 */
export function writeWhole(files: readonly WholeFile[], over: boolean): void {
  const there = over ? undefined : files.find(f => existsSync(f.path));
  if (there) throw new UsageError(`${there.path} is there already: give --force to write over it`);
  const targets = files.map(targetOf);
  const made: string[] = [];
  const parts: string[] = [];
  // With a listener an interrupt does not end the process, and no listener is called before this returns.
  const wait = () => undefined;
  for (const signal of ['SIGINT', 'SIGTERM'] as const) process.on(signal, wait);
  try {
    for (const [i, { path, mode }] of targets.entries()) {
      const first = mkdirSync(dirname(path), { recursive: true });
      if (first !== undefined) made.push(first);
      const part = join(dirname(path), partPrefix + basename(path));
      parts.push(part);
      writeFileSync(part, files[i]!.content, { mode });
    }
    for (const [i, { path }] of targets.entries()) renameSync(parts[i]!, path);
  } catch (error) {
    for (const part of parts) rmSync(part, { force: true });
    for (const folder of made.reverse()) rmSync(folder, { force: true, recursive: true });
    throw error;
  } finally {
    for (const signal of ['SIGINT', 'SIGTERM'] as const) process.off(signal, wait);
  }
}

/** Where a file lies that is written over, and its permissions; of one that is not there, those of any new file. */
function targetOf({ path }: WholeFile): { readonly path: string; readonly mode: number } {
  const there = existsSync(path) ? statSync(path) : null;
  if (!there) return { path, mode: 0o666 };
  if (!there.isFile()) throw new UsageError(`${path} is there already and is no file: choose another name`);
  return { path: realpathSync(path), mode: there.mode & 0o777 };
}
