import { createHash } from 'node:crypto';
import { closeSync, existsSync, openSync, readFileSync, readSync, statSync } from 'node:fs';
import { basename } from 'node:path';
import { gunzipSync } from 'node:zlib';
import { type ByteSource, blockBytes, bytesSource } from '../formats/bytes/source';
import { UsageError } from './command';

/** A file on disk, read by slices; `.gz` is unpacked in memory and loses that ending. */
export function openFile(path: string): ByteSource {
  requireFile(path);
  if (path.toLowerCase().endsWith('.gz')) return bytesSource(basename(path).slice(0, -3), unpack(path));
  return {
    name: basename(path),
    size: statSync(path).size,
    read: async (start, end) => readSlice(path, start, end),
  };
}

export function readText(path: string): string {
  requireFile(path);
  const bytes = path.toLowerCase().endsWith('.gz') ? unpack(path) : readFileSync(path);
  return new TextDecoder().decode(bytes);
}

/** SHA-256 in hex, read block by block. */
export function checksumOf(path: string): string {
  const hash = createHash('sha256');
  const { size } = statSync(path);
  for (let at = 0; at < size; at += blockBytes) hash.update(readSlice(path, at, Math.min(size, at + blockBytes)));
  return hash.digest('hex');
}

/** The value a JSON file holds. What is no JSON may be anything: of it only the place is said. */
export function readJson(path: string): unknown {
  const text = readText(path);
  try {
    return JSON.parse(text);
  } catch (error) {
    if (!(error instanceof SyntaxError)) throw error;
    const at = /position (\d+)/.exec(error.message)?.[1];
    const place =
      text.trim() === '' ? 'the file is empty' : at === undefined ? 'it begins otherwise' : `at character ${at}`;
    throw new UsageError(`${path} is not JSON (${place}): choose another file`);
  }
}

function requireFile(path: string): void {
  if (!existsSync(path)) throw new UsageError(`there is no file ${path}`);
  if (statSync(path).isDirectory())
    throw new UsageError(
      `${path} is a folder: give a file, or where the command has it --out DIR for all files of a folder`,
    );
  if (!statSync(path).isFile())
    throw new UsageError(`${path} is not a file: write what comes from a pipe into a file first`);
}

function unpack(path: string): Uint8Array {
  try {
    return gunzipSync(readFileSync(path));
  } catch {
    throw new UsageError(`${path} is not a gzip file or is damaged`);
  }
}

function readSlice(path: string, start: number, end: number): Uint8Array {
  const file = openSync(path, 'r');
  try {
    const bytes = new Uint8Array(Math.max(0, end - start));
    let filled = 0;
    while (filled < bytes.length) {
      const n = readSync(file, bytes, filled, bytes.length - filled, start + filled);
      if (n === 0) break;
      filled += n;
    }
    return bytes.subarray(0, filled);
  } finally {
    closeSync(file);
  }
}
