import { execFile } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { runCli } from '../../../src/cli/run';

const root = join(import.meta.dirname, '../../..');

export interface Ran {
  readonly code: number;
  readonly out: string;
  readonly err: string;
}

/** The command line in this process: all but the start of a new one. */
export async function cli(...args: string[]): Promise<Ran> {
  let out = '';
  let err = '';
  const code = await runCli(args, {
    print: text => void (out += `${text}\n`),
    note: text => void (err += `note: ${text}\n`),
    doubt: text => void (err += `note: ${text}\n`),
    fail: text => void (err += `error: ${text}\n`),
  });
  return { code, out, err };
}

/** The real command line in a process of its own, as `npm run -s cli --` starts it. */
export function spawned(...args: string[]): Promise<Ran> {
  const command = join(root, 'node_modules/.bin/tsx');
  return new Promise(resolve => {
    const options = { cwd: root, maxBuffer: 2 ** 28 };
    execFile(command, ['src/cli/main.ts', ...args], options, (error, out, err) => {
      resolve({ code: error ? Number(error.code ?? 1) : 0, out, err });
    });
  });
}

/** A scratch folder with files in it. */
export function scratch() {
  const folder = mkdtempSync(join(tmpdir(), 'cli-'));
  return {
    path: (name: string) => join(folder, name),
    write(name: string, content: string | Uint8Array): string {
      writeFileSync(join(folder, name), content);
      return join(folder, name);
    },
    remove: () => rmSync(folder, { recursive: true, force: true }),
  };
}
