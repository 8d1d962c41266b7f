import { chmodSync, existsSync, mkdirSync, readFileSync } from 'node:fs';
import { join, resolve } from 'node:path';

/** Where a store on one machine lies: `run/`, `etc/` and `data/` in one folder. */
export interface StorePlaces {
  /** Absolute. */
  readonly root: string;
  /** The built page. */
  readonly dist: string;
  /** The address people use; the two ports after it are the server's own. */
  readonly port: number;
}

/** A server program with its shipped configuration. */
export interface ServerEngine {
  readonly name: 'apache' | 'nginx';
  /** Starts the server; resolves when it answers. */
  start(places: StorePlaces): Promise<void>;
  /** Makes a running server read its people again and forget passwords that it has checked. */
  reload(places: StorePlaces): void;
  pidFile(root: string): string;
}

/** The shipped configurations. */
export const configurationFolder = join(import.meta.dirname, '../../../public/lab-store');

export const dataFolder = (root: string) => join(root, 'data');
export const peopleFile = (root: string) => join(root, 'etc/passwd');
export const groupsFile = (root: string) => join(root, 'etc/groups');
export const rolesFile = (root: string) => join(root, 'etc/roles');

export function makeFolders(root: string): string {
  const absolute = resolve(root);
  for (const name of ['run', 'etc', 'data']) mkdirSync(join(absolute, name), { recursive: true });
  // The sockets in it are for the server alone.
  chmodSync(join(absolute, 'run'), 0o750);
  return absolute;
}

/** The end of a server's log of errors, for a message. */
export function lastLines(file: string): string {
  return existsSync(file)
    ? readFileSync(file, 'utf8').split('\n').slice(-6).join('\n').trim()
    : 'it wrote no error log';
}

/** Null when no server runs there; a file left by a killed server names a process that is gone. */
export function runningProcess(pidFile: string): number | null {
  if (!existsSync(pidFile)) return null;
  const pid = Number(readFileSync(pidFile, 'utf8').trim());
  try {
    process.kill(pid, 0);
    return pid;
  } catch {
    return null;
  }
}

/** Ends the server with its workers and waits until all are gone; SIGKILL leaves it no time to finish anything. */
export async function stopProcess(pid: number, signal: 'SIGTERM' | 'SIGKILL' = 'SIGTERM'): Promise<void> {
  // A server makes a group of its own on starting, whose number is that of its first process.
  process.kill(signal === 'SIGKILL' ? -pid : pid, signal);
  for (let i = 0; i < 200; i++) {
    try {
      process.kill(-pid, 0);
    } catch {
      return;
    }
    await new Promise(done => setTimeout(done, 50));
  }
  throw new Error(`process ${pid} does not end`);
}
