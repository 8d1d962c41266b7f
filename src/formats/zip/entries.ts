import { sha256 } from '@noble/hashes/sha2.js';
import { bytesToHex } from '@noble/hashes/utils.js';
import { crc32 } from '../bytes/crc32';
import { createInflater } from '../bytes/inflate';
import { type ByteSource, bytesSource, type ReadControl } from '../bytes/source';
import { viewOf, type ZipEntry, zipError } from './directory';
import { joinBytes } from './writer';

/** Packed bytes read at a time; one piece can unpack to about a thousand times as much. */
const pieceBytes = 1 << 16;
const localHeaderLength = 30;

/**
 * Unpacks one entry piece by piece and returns the SHA-256 of the whole. A piece may be reused afterwards. Throws a
 * FormatError as soon as more comes out than the directory declares, and at the end when it was less.
 */
export async function unpackEntry(
  source: ByteSource,
  entry: ZipEntry,
  take: (bytes: Uint8Array) => void | Promise<void>,
  control: ReadControl = {},
): Promise<string> {
  const start = await dataStart(source, entry);
  const hash = sha256.create();
  let total = 0;
  const accept = (bytes: Uint8Array) => {
    total += bytes.length;
    if (total > entry.bytes) throw zipError(source.name, `entry ${entry.path}`, 'it is longer than it says.');
    hash.update(bytes);
    return take(bytes);
  };
  await (entry.method === 'stored' ? copyStored : inflate)(source, entry, start, accept, control);
  if (total < entry.bytes) throw zipError(source.name, `entry ${entry.path}`, 'it is shorter than it says.');
  return bytesToHex(hash.digest());
}

/** A whole entry of at most `maxBytes`, with its SHA-256 and whether its CRC-32 is that of the directory. */
export async function unpackWhole(
  source: ByteSource,
  entry: ZipEntry,
  maxBytes: number,
): Promise<{ bytes: Uint8Array; sha256: string; sameCrc: boolean }> {
  if (entry.bytes > maxBytes) {
    const problem = `it is ${entry.bytes} bytes long; at most ${maxBytes} are read.`;
    throw zipError(source.name, `entry ${entry.path}`, problem);
  }
  const parts: Uint8Array[] = [];
  const sha = await unpackEntry(source, entry, bytes => void parts.push(bytes.slice()));
  const bytes = joinBytes(parts);
  return { bytes, sha256: sha, sameCrc: crc32(bytes) === entry.crc32 };
}

/** An entry as bytes with random access: a slice of the zip when it is stored, unpacked in memory otherwise. */
export async function entrySource(source: ByteSource, entry: ZipEntry, maxBytes: number): Promise<ByteSource> {
  const name = entry.path.slice(entry.path.lastIndexOf('/') + 1);
  if (entry.method === 'deflated') return bytesSource(name, (await unpackWhole(source, entry, maxBytes)).bytes);
  const start = await dataStart(source, entry);
  const end = start + entry.packedBytes;
  return {
    name,
    size: entry.packedBytes,
    read: (from, to) => source.read(Math.min(end, start + from), Math.min(end, start + to)),
  };
}

type Accept = (bytes: Uint8Array) => void | Promise<void>;

async function copyStored(source: ByteSource, entry: ZipEntry, start: number, accept: Accept, control: ReadControl) {
  for (let at = 0; at < entry.packedBytes; at += pieceBytes) {
    await accept(await packedPiece(source, entry, start, at, control));
  }
}

async function inflate(source: ByteSource, entry: ZipEntry, start: number, accept: Accept, control: ReadControl) {
  const inflater = createInflater(true);
  for (let at = 0; at < entry.packedBytes; at += pieceBytes) {
    const piece = await packedPiece(source, entry, start, at, control);
    const { out, problem } = inflater.push(piece, at + pieceBytes >= entry.packedBytes);
    for (const bytes of out) await accept(bytes);
    if (problem) throw zipError(source.name, `entry ${entry.path}`, 'its compressed data are damaged.');
  }
}

async function packedPiece(source: ByteSource, entry: ZipEntry, start: number, at: number, control: ReadControl) {
  control.signal?.throwIfAborted();
  const end = Math.min(at + pieceBytes, entry.packedBytes);
  const piece = await source.read(start + at, start + end);
  if (piece.length < end - at) throw zipError(source.name, `entry ${entry.path}`, 'the file ends inside it.');
  control.onProgress?.(start + end, source.size);
  return piece;
}

/** The local header repeats the name; one that differs from the directory is a trick or damage. */
async function dataStart(source: ByteSource, entry: ZipEntry): Promise<number> {
  const at = entry.headerOffset;
  const header = await source.read(at, at + localHeaderLength + 4 * entry.path.length);
  const damaged = () => zipError(source.name, `entry ${entry.path}`, 'its header is damaged.');
  if (header.length < localHeaderLength) throw damaged();
  const view = viewOf(header);
  const nameLength = view.getUint16(26, true);
  const name = header.subarray(localHeaderLength, localHeaderLength + nameLength);
  const same = view.getUint32(0, true) === 0x04034b50 && new TextDecoder().decode(name) === entry.path;
  if (!same) throw damaged();
  return at + localHeaderLength + nameLength + view.getUint16(28, true);
}
