import { closeSync, existsSync, openSync, readdirSync, readFileSync, readSync, statSync } from 'node:fs';
import { join } from 'node:path';
import type { ByteRange, RemoteStore } from '../remote/remote-store';

/** A store's folder on this machine, such as a backup, for reading. */
export function folderStore(root: string): RemoteStore {
  const refused = () => Promise.reject(new Error('a folder on this machine is only read'));
  return {
    create: refused,
    folder: refused,
    async list(path) {
      const folder = join(root, path);
      if (!existsSync(folder) || !statSync(folder).isDirectory()) return null;
      const entries = readdirSync(folder, { withFileTypes: true });
      return entries
        .map(e => ({ name: e.name, isFolder: e.isDirectory(), tag: '' }))
        .sort((a, b) => (a.name < b.name ? -1 : 1));
    },
    async read(path, range) {
      const file = join(root, path);
      if (!existsSync(file) || !statSync(file).isFile()) return null;
      return range ? readRange(file, range) : new Uint8Array(readFileSync(file));
    },
  };
}

function readRange(path: string, { start, end }: ByteRange): Uint8Array {
  const file = openSync(path, 'r');
  try {
    const bytes = new Uint8Array(Math.max(0, end - start));
    return bytes.subarray(0, readSync(file, bytes, 0, bytes.length, start));
  } finally {
    closeSync(file);
  }
}
