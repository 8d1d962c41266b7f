import type { ByteSource } from '../bytes/source';
import { FormatError } from '../format-error';
import { zip64From } from './records';

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
  maxTotalBytes: 64 * 2 ** 30,
  maxRatio: 200,
  ratioFromBytes: 64 * 2 ** 20,
};

const endLength = 22;
const longestComment = 65_535;
/** Zip64 end of the directory and its locator. */
const zip64EndLength = 56 + 20;
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

interface DirectoryPlace {
  readonly count: number;
  readonly size: number;
  readonly offset: number;
}

async function findEnd(source: ByteSource): Promise<DirectoryPlace> {
  const start = Math.max(0, source.size - endLength - longestComment - zip64EndLength);
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
    if (!oneDisk) throw zipError(source.name, 'its end', 'it is split over disks, which is not read.');
    const large = count === 0xffff || size === zip64From || offset === zip64From;
    const place = large ? zip64Place(source.name, view, at) : { count, size, offset };
    if (place.offset + place.size !== start + at - (large ? zip64EndLength : 0))
      throw zipError(source.name, 'its end', 'the directory is not where it says.');
    return place;
  }
  throw zipError(source.name, 'its end', 'there is no zip directory: the file is cut off or not a zip.');
}

/** The Zip64 end and its locator stand right before the end of the directory. */
function zip64Place(file: string, view: DataView, end: number): DirectoryPlace {
  const at = end - zip64EndLength;
  const whole =
    at >= 0 &&
    view.getUint32(at, true) === 0x06064b50 &&
    view.getUint32(at + 4, true) === 44 &&
    view.getUint32(at + 56, true) === 0x07064b50;
  if (!whole) throw zipError(file, 'its end', 'its Zip64 end is damaged or of a kind that is not read.');
  const oneDisk = view.getUint32(at + 16, true) === 0 && view.getUint32(at + 20, true) === 0;
  if (!oneDisk) throw zipError(file, 'its end', 'it is split over disks, which is not read.');
  const field = (offset: number) => wide(file, 'its end', view, at + offset);
  return { count: field(32), size: field(40), offset: field(48) };
}

/** A number of 64 bits. No file has more bytes than a double counts. */
function wide(file: string, place: string, view: DataView, at: number): number {
  const value = Number(view.getBigUint64(at, true));
  if (!Number.isSafeInteger(value)) throw zipError(file, place, 'a size in it is beyond all files.');
  return value;
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
    const extraLength = view.getUint16(at + 30, true);
    const next = at + headerLength + nameLength + extraLength + view.getUint16(at + 32, true);
    if (next > bytes.length) throw zipError(file, place, 'it is cut off.');
    if (view.getUint16(at + 8, true) & 1) throw zipError(file, place, 'it is encrypted.', 'Export it unencrypted.');
    entries.push({
      path: nameOf(file, place, bytes.subarray(at + headerLength, at + headerLength + nameLength)),
      method: methodOf(file, place, view.getUint16(at + 10, true)),
      crc32: view.getUint32(at + 16, true),
      ...sizesOf(file, place, view, at, at + headerLength + nameLength, extraLength),
    });
    at = next;
  }
  if (at !== bytes.length) throw zipError(file, 'its directory', 'it holds more than its entries.');
  return entries;
}

type Sizes = Pick<ZipEntry, 'bytes' | 'packedBytes' | 'headerOffset'>;

/** Those that are all ones stand, in this order, in the Zip64 part of the extra field. */
function sizesOf(file: string, place: string, view: DataView, at: number, extraAt: number, length: number): Sizes {
  const plain = [view.getUint32(at + 24, true), view.getUint32(at + 20, true), view.getUint32(at + 42, true)];
  let from = plain.includes(zip64From) ? zip64Field(view, extraAt, extraAt + length) : 0;
  const [bytes, packedBytes, headerOffset] = plain.map(n => {
    if (n !== zip64From) return n;
    if (from === null || from + 8 > extraAt + length) throw zipError(file, place, 'its Zip64 sizes are missing.');
    from += 8;
    return wide(file, place, view, from - 8);
  }) as [number, number, number];
  return { bytes, packedBytes, headerOffset };
}

/** Where the values of the Zip64 part of an extra field begin; null when there is none. */
function zip64Field(view: DataView, start: number, end: number): number | null {
  for (let at = start; at + 4 <= end; at += 4 + view.getUint16(at + 2, true)) {
    if (view.getUint16(at, true) === 1) return at + 4;
  }
  return null;
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
