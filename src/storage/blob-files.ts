import { createStore, set } from 'idb-keyval';
import { answer, type Database, openDatabase } from './database';
import { type StorageKey, under } from './keys';
import { withPatience } from './patience';
import { asStorageProblem, StorageProblem } from './problem';
import type { FileAppender, FilePath, FileReading, SignalFiles } from './signal-files';

/** Bytes of one stored Blob. Larger ones spare transactions, smaller ones let a running import be read sooner. */
const pieceBytes = 4 * 1024 * 1024;

interface Piece {
  readonly start: number;
  readonly blob: Blob;
}

const keyOfPiece = ({ session, recording, name }: FilePath, start: number): StorageKey => [
  'piece',
  session,
  recording,
  name,
  start,
];

/** Signal files as Blobs in IndexedDB. A Blob's bytes stay on disk until a slice of it is read. Null where it takes none. */
export async function openBlobFiles(name: string): Promise<SignalFiles | null> {
  if (!(await takesBlobs(name))) return null;
  const database = await openDatabase({ name });
  return {
    kind: 'blobs',
    create: path => createFile(database, path),
    open: path => openFile(database, path),
    remove: (...ids) =>
      database.write(async store => {
        store.delete(under('piece', ...ids.filter(id => id !== undefined)));
      }),
  };
}

/** How long an engine that refuses Blobs without saying so is waited for. */
const patienceMs = 3000;

/**
 * Tried out, as no browser says so beforehand, in a store of its own: a refused Blob can leave a store waiting for ever.
 * A full disk is no answer: writing will report it.
 */
async function takesBlobs(name: string): Promise<boolean> {
  const tried = createStore(`${name}-tried`, 'records');
  const late = () => Promise.reject(new DOMException('no answer', 'UnknownError'));
  try {
    await withPatience(set('blob', new Blob(['tried']), tried), patienceMs, late);
    return true;
  } catch (error) {
    const problem = asStorageProblem(error);
    return problem instanceof StorageProblem && problem.kind === 'full';
  }
}

async function createFile(database: Database, path: FilePath): Promise<FileAppender> {
  await database.write(async store => {
    store.delete(under('piece', path.session, path.recording, path.name));
  });
  let parts: Blob[] = [];
  let waiting = 0;
  let start = 0;
  const settle = async () => {
    if (waiting === 0) return;
    const piece: Piece = { start, blob: new Blob(parts) };
    start += waiting;
    parts = [];
    waiting = 0;
    await database.write(async store => {
      store.put(piece, keyOfPiece(path, piece.start));
    });
  };
  return {
    async append(bytes) {
      // A Blob copies the bytes at once, so the caller may reuse them.
      parts.push(new Blob([bytes as Uint8Array<ArrayBuffer>]));
      waiting += bytes.length;
      if (waiting >= pieceBytes) await settle();
    },
    settle,
    close: settle,
  };
}

async function openFile(database: Database, path: FilePath): Promise<FileReading | null> {
  const range = under('piece', path.session, path.recording, path.name);
  const pieces = await database.read(store => answer(store.getAll(range) as IDBRequest<Piece[]>));
  const last = pieces.at(-1);
  if (!last) return null;
  const whole = new Blob(pieces.map(p => p.blob));
  return { size: whole.size, read: (start, end) => whole.slice(start, end).arrayBuffer() };
}
