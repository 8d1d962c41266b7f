import { del, get, set } from 'idb-keyval';
import { valueIfStored } from './kept-value';

/** What TypeScript's DOM library leaves out because not every browser has it. Source: WICG File System Access. */
interface PickedDirectory extends FileSystemDirectoryHandle {
  queryPermission?(descriptor: { mode: 'readwrite' }): Promise<PermissionState>;
  requestPermission?(descriptor: { mode: 'readwrite' }): Promise<PermissionState>;
}

type Picker = (options: { id: string; mode: 'readwrite' }) => Promise<PickedDirectory>;

/** A folder of the person's own, outside the browser's storage. */
export interface BackupDirectory {
  readonly name: string;
  /** 'prompt': the browser asks the person again, on a press of a button. */
  permission(): Promise<PermissionState>;
  ask(): Promise<PermissionState>;
  /** Null when there is no such file. */
  file(name: string): Promise<File | null>;
  /** The whole file or nothing: the browser writes beside it and swaps at the end. */
  write(name: string, content: Blob): Promise<void>;
  /** Files directly in it, by name. */
  files(): Promise<readonly File[]>;
}

const key = 'beat-ledger-backup-folder';

const picker = () => (globalThis as { showDirectoryPicker?: Picker }).showDirectoryPicker;

export function canPickDirectory(): boolean {
  return picker() !== undefined;
}

/** Lets the person choose; null when they chose nothing. `keep`: also for the next visit. */
export async function pickDirectory(keep: boolean): Promise<BackupDirectory | null> {
  try {
    const handle = await picker()!({ id: 'beat-ledger', mode: 'readwrite' });
    if (keep) await valueIfStored(() => set(key, handle));
    return directoryOf(handle);
  } catch (error) {
    if ((error as Error).name === 'AbortError') return null;
    throw error;
  }
}

export async function savedDirectory(): Promise<BackupDirectory | null> {
  const handle = await valueIfStored(() => get<PickedDirectory>(key));
  return handle ? directoryOf(handle) : null;
}

export async function forgetDirectory(): Promise<void> {
  await valueIfStored(() => del(key));
}

function directoryOf(handle: PickedDirectory): BackupDirectory {
  const mode = { mode: 'readwrite' } as const;
  return {
    name: handle.name || 'chosen folder',
    permission: async () => (await handle.queryPermission?.(mode)) ?? 'granted',
    ask: async () => (await handle.requestPermission?.(mode)) ?? 'granted',
    async file(name) {
      try {
        return await (await handle.getFileHandle(name)).getFile();
      } catch (error) {
        // A folder that is gone is found out on writing.
        if ((error as Error).name === 'NotFoundError') return null;
        throw error;
      }
    },
    write: (name, content) => write(handle, name, content),
    async files() {
      const found: File[] = [];
      for await (const entry of handle.values()) {
        if (entry.kind === 'file') found.push(await entry.getFile());
      }
      return found.sort((a, b) => (a.name < b.name ? -1 : 1));
    },
  };
}

async function write(handle: PickedDirectory, name: string, content: Blob): Promise<void> {
  const stream = await (await handle.getFileHandle(name, { create: true })).createWritable();
  try {
    await stream.write(content);
    await stream.close();
  } catch (error) {
    await stream.abort().catch(() => undefined);
    throw error;
  }
}
