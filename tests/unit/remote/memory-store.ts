import { RemoteError } from '../../../src/remote/remote-error';
import type { RemoteStore } from '../../../src/remote/remote-store';

/** What a server keeps, without a server: names created once, folders whose parents must be there. */
export class MemoryStore implements RemoteStore {
  readonly files = new Map<string, Uint8Array>();
  readonly folders = new Set<string>(['']);

  async create(path: string, bytes: Uint8Array): Promise<'created' | 'exists'> {
    if (!this.folders.has(path.slice(0, path.lastIndexOf('/') + 1))) throw new RemoteError('no folder', path);
    if (this.files.has(path)) return 'exists';
    this.files.set(path, bytes.slice());
    return 'created';
  }

  async folder(path: string): Promise<void> {
    this.folders.add(path);
  }

  async list(path: string) {
    if (!this.folders.has(path)) return null;
    const names = (all: Iterable<string>) =>
      [...all].filter(p => p !== path && p.startsWith(path)).map(p => p.slice(path.length));
    const files = names(this.files.keys()).filter(n => !n.includes('/'));
    const folders = names(this.folders).filter(n => n.indexOf('/') === n.length - 1);
    // As a server's: a folder's tag tells of the names in it, not of those below.
    const all = [...names(this.files.keys()), ...names(this.folders)];
    const tag = (folder: string) =>
      `${all.filter(n => n.startsWith(folder) && /^[^/]+\/?$/.test(n.slice(folder.length))).length} names`;
    return [
      ...files.map(name => ({ name, isFolder: false, tag: 'created' })),
      ...folders.map(name => ({ name: name.slice(0, -1), isFolder: true, tag: tag(name) })),
    ].sort((a, b) => (a.name < b.name ? -1 : 1));
  }

  async read(path: string, range?: { start: number; end: number }) {
    const bytes = this.files.get(path);
    if (!bytes) return null;
    return range ? bytes.slice(range.start, range.end) : bytes.slice();
  }
}

/** The same over a bad connection: requests are lost before they arrive, or their answers on the way back. */
export function unsteady(store: RemoteStore, fails: () => 'no' | 'request' | 'answer'): RemoteStore {
  const through = async <T>(act: () => Promise<T>): Promise<T> => {
    const fate = fails();
    if (fate === 'request') throw new RemoteError('offline', 'request lost');
    const result = await act();
    if (fate === 'answer') throw new RemoteError('offline', 'answer lost');
    return result;
  };
  return {
    create: (path, bytes) => through(() => store.create(path, bytes)),
    folder: path => through(() => store.folder(path)),
    list: path => through(() => store.list(path)),
    read: (path, range) => through(() => store.read(path, range)),
  };
}
