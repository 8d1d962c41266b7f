import type { ByteSource } from '../bytes/source';
import { FormatError } from '../format-error';

/**
 * Central directory of a zip (PKWARE APPNOTE 6.3, sections 4.3.7, 4.3.12, 4.3.16), read without reading the entries.
 * Everything that could make a hostile archive write elsewhere or grow without end is refused here.
 */

export interface ZipEntry {
  readonly path: string;
  readonly method: 'stored' | 'deflated';
  readonly crc32: number;
  readonly packedBytes: number;
  readonly bytes: number;
  readonly headerOffset: number;
}

export interface ZipLimits {
  readonly maxEntries: number;
  /** Sum of the declared unpacked sizes. */
  readonly maxTotalBytes: number;
  /** Above `ratioFromBytes` in total, unpacked size / archive size at most. */
  readonly maxRatio: number;
  readonly ratioFromBytes: number;
}

/** Enough for a day's recordings; deflate cannot pack ECG samples more than about 20:1 unless they are filler. */
export const zipLimits: ZipLimits = {
  maxEntries: 4096,
  maxTotalBytes: 8 * 2 ** 30,
  maxRatio: 200,
  ratioFromBytes: 64 * 2 ** 20,
};

const endLength = 22;
const longestComment = 65_535;
const headerLength = 46;
const localHeaderLength = 30;

export function zipError(file: string, place: string, problem: string, remedy?: string): FormatError {
  return new FormatError(file, 'zip', place, problem, remedy ?? 'Export or download it again.');
}

export async function readZipDirectory(source: ByteSource, limits: ZipLimits = zipLimits): Promise<ZipEntry[]> {
  const end = await findEnd(source);
  if (end.count > limits.maxEntries) {
    throw zipError(source.name, 'its directory', `it has ${end.count} entries; at most ${limits.maxEntries} are read.`);
  }
  const bytes = await source.read(end.offset, end.offset + end.size);
  const entries = parseEntries(source.name, bytes, end.count);
  checkPaths(source.name, entries);
  checkPlaces(source.name, entries, end.offset);
  checkSizes(source, entries, limits);
  return entries.filter(e => !e.path.endsWith('/'));
}

async function findEnd(source: ByteSource): Promise<{ count: number; size: number; offset: number }> {
  const start = Math.max(0, source.size - endLength - longestComment);
  const tail = await source.read(start, source.size);
  const view = viewOf(tail);
  for (let at = tail.length - endLength; at >= 0; at--) {
    if (view.getUint32(at, true) !== 0x06054b50 || at + endLength + view.getUint16(at + 20, true) !== tail.length) {
      continue;
    }
    const count = view.getUint16(at + 10, true);
    const size = view.getUint32(at + 12, true);
    const offset = view.getUint32(at + 16, true);
    const oneDisk = view.getUint32(at + 4, true) === 0 && view.getUint16(at + 8, true) === count;
    if (!oneDisk || count === 0xffff || offset === 0xffffffff) {
      throw zipError(source.name, 'its end', 'it is split over disks or uses Zip64, which is not read.');
    }
    if (offset + size !== start + at) throw zipError(source.name, 'its end', 'the directory is not where it says.');
    return { count, size, offset };
  }
  throw zipError(source.name, 'its end', 'there is no zip directory: the file is cut off or not a zip.');
}

function parseEntries(file: string, bytes: Uint8Array, count: number): ZipEntry[] {
  const view = viewOf(bytes);
  const entries: ZipEntry[] = [];
  let at = 0;
  for (let i = 0; i < count; i++) {
    const place = `directory entry ${i + 1}`;
    if (at + headerLength > bytes.length || view.getUint32(at, true) !== 0x02014b50) {
      throw zipError(file, place, 'it is damaged.');
    }
    const nameLength = view.getUint16(at + 28, true);
    const next = at + headerLength + nameLength + view.getUint16(at + 30, true) + view.getUint16(at + 32, true);
    if (next > bytes.length) throw zipError(file, place, 'it is cut off.');
    if (view.getUint16(at + 8, true) & 1) throw zipError(file, place, 'it is encrypted.', 'Export it unencrypted.');
    entries.push({
      path: nameOf(file, place, bytes.subarray(at + headerLength, at + headerLength + nameLength)),
      method: methodOf(file, place, view.getUint16(at + 10, true)),
      crc32: view.getUint32(at + 16, true),
      packedBytes: view.getUint32(at + 20, true),
      bytes: view.getUint32(at + 24, true),
      headerOffset: view.getUint32(at + 42, true),
    });
    at = next;
  }
  if (at !== bytes.length) throw zipError(file, 'its directory', 'it holds more than its entries.');
  return entries;
}

function nameOf(file: string, place: string, bytes: Uint8Array): string {
  try {
    return new TextDecoder('utf-8', { fatal: true }).decode(bytes);
  } catch {
    throw zipError(file, place, 'its name is not UTF-8.');
  }
}

function methodOf(file: string, place: string, method: number): 'stored' | 'deflated' {
  if (method === 0) return 'stored';
  if (method === 8) return 'deflated';
  throw zipError(file, place, `compression method ${method} is not read.`, 'Pack it with plain deflate.');
}

/** Relative, forward slashes, no steps up, and no two alike. */
function checkPaths(file: string, entries: readonly ZipEntry[]): void {
  const seen = new Set<string>();
  for (const { path } of entries) {
    const parts = path.replace(/\/$/, '').split('/');
    // biome-ignore lint/suspicious/noControlCharactersInRegex: control characters are what is looked for
    const odd = /[\\:\u0000-\u001f]/.test(path) || parts.some(p => p === '' || p === '.' || p === '..');
    if (odd)
      throw zipError(file, `entry ${JSON.stringify(path.slice(0, 80))}`, 'its path is not a plain relative one.');
    if (seen.has(path)) throw zipError(file, `entry ${path}`, 'there are two of that name.');
    seen.add(path);
  }
}

/** Entries may not share bytes: overlapping ones are how a small archive pretends to be a huge one. */
function checkPlaces(file: string, entries: readonly ZipEntry[], directoryOffset: number): void {
  const sorted = [...entries].sort((a, b) => a.headerOffset - b.headerOffset);
  for (const [i, entry] of sorted.entries()) {
    const end = entry.headerOffset + localHeaderLength + entry.packedBytes;
    if (end > (sorted[i + 1]?.headerOffset ?? directoryOffset)) {
      throw zipError(file, `entry ${entry.path}`, 'it overlaps what follows.');
    }
  }
}

function checkSizes(source: ByteSource, entries: readonly ZipEntry[], limits: ZipLimits): void {
  const total = entries.reduce((n, e) => n + e.bytes, 0);
  const mib = Math.round(total / 2 ** 20);
  if (total > limits.maxTotalBytes) {
    throw zipError(source.name, 'its directory', `unpacked it would be ${mib} MiB, more than is read.`);
  }
  if (total > limits.ratioFromBytes && total > limits.maxRatio * source.size) {
    const problem = `unpacked it would be ${mib} MiB, more than ${limits.maxRatio} times its size.`;
    throw zipError(source.name, 'its directory', problem);
  }
}

export function viewOf(bytes: Uint8Array): DataView {
  return new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
}
