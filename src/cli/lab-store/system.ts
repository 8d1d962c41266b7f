import { spawnSync } from 'node:child_process';
import { chmodSync, chownSync } from 'node:fs';
import { connect } from 'node:net';
import { join } from 'node:path';
import { UsageError } from '../command';
import { dataFolder, type StorePlaces } from './places';

/**
 * Lets the account that a server runs as write the store, and nobody but it and root read the passwords. Throws a
 * UsageError where the account cannot reach the folders.
 */
export function giveTo(account: string, { root, dist }: StorePlaces): void {
  const { uid, gid } = accountIds(account);
  for (const folder of ['run', 'data']) chownSync(join(root, folder), uid, gid);
  chownSync(join(root, 'etc'), 0, gid);
  chmodSync(join(root, 'etc'), 0o750);
  for (const [folder, need] of [
    [dataFolder(root), '-w'],
    [dist, '-r'],
  ] as const) {
    if (spawnSync('test', [need, folder], { uid, gid }).status === 0) continue;
    throw new UsageError(`${account} cannot reach ${folder}: choose a folder that every account may enter (chmod o+x)`);
  }
}

function accountIds(name: string): { readonly uid: number; readonly gid: number } {
  const id = (option: string) => Number(spawnSync('id', [option, name], { encoding: 'utf8' }).stdout.trim());
  const ids = { uid: id('-u'), gid: id('-g') };
  if (!(ids.uid > 0) || !(ids.gid > 0)) throw new Error(`there is no account ${name} on this machine`);
  return ids;
}

/** Resolves when something listens; `why` tells what the server wrote where it never does. */
export async function waitForPort(port: number, why: () => string): Promise<void> {
  for (let i = 0; i < 200; i++) {
    if (await listens(port)) return;
    await new Promise(done => setTimeout(done, 50));
  }
  throw new Error(`nothing answers at port ${port}: ${why()}`);
}

function listens(port: number): Promise<boolean> {
  return new Promise(resolve => {
    const socket = connect({ port, host: '127.0.0.1' });
    socket.once('connect', () => {
      socket.destroy();
      resolve(true);
    });
    socket.once('error', () => resolve(false));
  });
}
