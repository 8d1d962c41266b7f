import { StorageProblem } from './problem';
import { checkedName, type FileAppender, type FilePath, type FileReading, type SignalFiles } from './signal-files';

const root = 'signals';

/** What the DOM's type library leaves out because it exists in dedicated workers only. */
interface SyncAccessHandle {
  write(bytes: Uint8Array, options: { at: number }): number;
  truncate(size: number): void;
  flush(): void;
  close(): void;
}

type WorkerFileHandle = FileSystemFileHandle & { createSyncAccessHandle(): Promise<SyncAccessHandle> };

/** Signal files in the browser's private file system; null where the browser has none. */
export async function openOpfs(): Promise<SignalFiles | null> {
  try {
    const directory = await (await navigator.storage.getDirectory()).getDirectoryHandle(root, { create: true });
    return {
      kind: 'opfs',
      create: path => createFile(directory, path),
      open: path => openFile(directory, path),
      remove: (session, recording) => remove(directory, session, recording),
    };
  } catch {
    return null;
  }
}

async function createFile(directory: FileSystemDirectoryHandle, path: FilePath): Promise<FileAppender> {
  const session = await directory.getDirectoryHandle(checkedName(path.session), { create: true });
  const recording = await session.getDirectoryHandle(checkedName(path.recording), { create: true });
  const file = await recording.getFileHandle(checkedName(path.name), { create: true });
  const handle = await (file as WorkerFileHandle).createSyncAccessHandle();
  handle.truncate(0);
  let position = 0;
  return {
    append(bytes) {
      const written = handle.write(bytes, { at: position });
      if (written < bytes.length) throw new StorageProblem('full', `wrote ${written} of ${bytes.length} bytes`);
      position += written;
    },
    // Every write can be read at once; waiting for the disk on the way would only slow the import down.
    settle: () => undefined,
    close() {
      handle.flush();
      handle.close();
    },
  };
}

async function openFile(directory: FileSystemDirectoryHandle, path: FilePath): Promise<FileReading | null> {
  try {
    const session = await directory.getDirectoryHandle(checkedName(path.session));
    const recording = await session.getDirectoryHandle(checkedName(path.recording));
    const file = await (await recording.getFileHandle(checkedName(path.name))).getFile();
    return { size: file.size, read: (start, end) => file.slice(start, end).arrayBuffer() };
  } catch (error) {
    if (isNotFound(error)) return null;
    throw error;
  }
}

async function remove(directory: FileSystemDirectoryHandle, session: string, recording?: string): Promise<void> {
  try {
    const parent = recording === undefined ? directory : await directory.getDirectoryHandle(checkedName(session));
    await parent.removeEntry(checkedName(recording ?? session), { recursive: true });
  } catch (error) {
    if (!isNotFound(error)) throw error;
  }
}

function isNotFound(error: unknown): boolean {
  return error instanceof DOMException && error.name === 'NotFoundError';
}
