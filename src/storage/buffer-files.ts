import { answer, type Database, openDatabase } from './database';
import { type StorageKey, under } from './keys';
import type { FileAppender, FilePath, FileReading, SignalFiles } from './signal-files';

/** Bytes of one stored piece: what a read in the middle of a file has to fetch. */
const pieceBytes = 1024 * 1024;
/** Pieces held in memory for one open file: neighbouring reads share them. */
const heldPieces = 4;

const folder = (...ids: (string | undefined)[]) => under('bytes', ...ids.filter(id => id !== undefined));
const keyOfPiece = ({ session, recording, name }: FilePath, start: number): StorageKey => [
  'bytes',
  session,
  recording,
  name,
  start,
];

/** Signal files as ArrayBuffers in IndexedDB, for browsers that store no Blobs there, such as some private windows. */
export async function openBufferFiles(name: string): Promise<SignalFiles> {
  const database = await openDatabase({ name });
  return {
    kind: 'buffers',
    create: path => createFile(database, path),
    open: path => openFile(database, path),
    remove: (...ids) =>
      database.write(async store => {
        store.delete(folder(...ids));
      }),
  };
}

async function createFile(database: Database, path: FilePath): Promise<FileAppender> {
  await database.write(async store => {
    store.delete(folder(path.session, path.recording, path.name));
  });
  const piece = new Uint8Array(pieceBytes);
  let filled = 0;
  let start = 0;
  /** Writes the piece as far as it is filled; a piece that is not full yet is written again when more has come. */
  const put = () => {
    const bytes = piece.slice(0, filled).buffer;
    return database.write(async store => {
      store.put(bytes, keyOfPiece(path, start));
    });
  };
  const settle = async () => {
    if (filled > 0) await put();
  };
  return {
    async append(bytes) {
      for (let at = 0; at < bytes.length; ) {
        const taken = Math.min(bytes.length - at, pieceBytes - filled);
        piece.set(bytes.subarray(at, at + taken), filled);
        filled += taken;
        at += taken;
        if (filled < pieceBytes) continue;
        await put();
        start += pieceBytes;
        filled = 0;
      }
    },
    settle,
    close: settle,
  };
}

async function openFile(database: Database, path: FilePath): Promise<FileReading | null> {
  const keys = await database.read(store => answer(store.getAllKeys(folder(path.session, path.recording, path.name))));
  const pieces = keys.length;
  if (pieces === 0) return null;
  const held = new Map<number, Promise<ArrayBuffer>>();
  const fetchPiece = (i: number) => {
    const key = keyOfPiece(path, i * pieceBytes);
    return database.read(store => answer(store.get(key) as IDBRequest<ArrayBuffer>));
  };
  const pieceAt = (i: number) => {
    const found = held.get(i) ?? fetchPiece(i);
    held.delete(i);
    held.set(i, found);
    found.catch(() => held.delete(i));
    if (held.size > heldPieces) held.delete(held.keys().next().value!);
    return found;
  };
  const last = await pieceAt(pieces - 1);
  const size = (pieces - 1) * pieceBytes + last.byteLength;
  return {
    size,
    async read(start, end) {
      const stop = Math.min(end, size);
      const out = new Uint8Array(Math.max(0, stop - start));
      for (let i = Math.floor(start / pieceBytes); i * pieceBytes < stop; i++) {
        const from = i * pieceBytes;
        const bytes = new Uint8Array(await pieceAt(i));
        out.set(bytes.subarray(Math.max(0, start - from), stop - from), Math.max(0, from - start));
      }
      return out.buffer;
    },
  };
}
