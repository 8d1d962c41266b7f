import { existsSync, mkdirSync, renameSync, rmSync, writeFileSync } from 'node:fs';
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
 * own. Folders are made where they are absent. A UsageError when one is there already, but with `over`. An interrupt
 * meanwhile is let pass: hardly anything comes after.
 */
export function writeWhole(files: readonly WholeFile[], over: boolean): void {
  const there = over ? undefined : files.find(f => existsSync(f.path));
  if (there) throw new UsageError(`${there.path} is there already: give --force to write over it`);
  const made: string[] = [];
  const parts: string[] = [];
  // With a listener an interrupt does not end the process, and no listener is called before this returns.
  const wait = () => undefined;
  for (const signal of ['SIGINT', 'SIGTERM'] as const) process.on(signal, wait);
  try {
    for (const { path, content } of files) {
      const first = mkdirSync(dirname(path), { recursive: true });
      if (first !== undefined) made.push(first);
      const part = join(dirname(path), partPrefix + basename(path));
      parts.push(part);
      writeFileSync(part, content);
    }
    for (const [i, { path }] of files.entries()) renameSync(parts[i]!, path);
  } catch (error) {
    for (const part of parts) rmSync(part, { force: true });
    for (const folder of made.reverse()) rmSync(folder, { force: true, recursive: true });
    throw error;
  } finally {
    for (const signal of ['SIGINT', 'SIGTERM'] as const) process.off(signal, wait);
  }
}
