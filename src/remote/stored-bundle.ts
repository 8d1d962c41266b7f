import { bytesToHex } from '@noble/hashes/utils.js';
import { sha256Hex } from '../core/marks/log';
import type { ByteSource, ReadControl } from '../formats/bytes/source';
import { sessionFolder } from './names';
import type { StoredSession } from './records';
import { RemoteError } from './remote-error';
import type { RemoteStore } from './remote-store';

/** Parts kept on this machine, by hash, for work without a network. */
export interface KeptParts {
  has(sha256: string): Promise<boolean>;
  /** Bytes `[start, end)` of a part; null where it is not kept. */
  read(sha256: string, start: number, end: number): Promise<Uint8Array | null>;
  put(sha256: string, bytes: Uint8Array): Promise<void>;
}

/** For who reads a bundle once. */
export const keepsNothing: KeptParts = {
  has: async () => false,
  read: async () => null,
  put: async () => undefined,
};

/** Bytes fetched at once for a read in the middle of a part: a tenth of a second at 20 Mbit/s. */
const rangeBytes = 256 * 2 ** 10;
/** Ranges held in memory. */
const heldRanges = 64;

/** A stored bundle that is read by ranges. */
export interface RangedBundle extends ByteSource {
  /** Resolves as soon as no range is being fetched. */
  idle(): Promise<void>;
}

/**
 * The bundle of a stored session as bytes with random access. A part that is kept is read from there, of others the
 * ranges that are asked for are fetched. Ranges are not held against the part's hash, which is over all of it.
 */
export function storedBundle(store: RemoteStore, manifest: StoredSession, kept: KeptParts): RangedBundle {
  const starts: number[] = [];
  let end = 0;
  for (const part of manifest.parts) {
    starts.push(end);
    end += part.bytes;
  }
  const ranges = new Map<string, Promise<Uint8Array>>();
  const running = new Set<Promise<unknown>>();
  const range = (part: number, index: number): Promise<Uint8Array> => {
    const key = `${part}/${index}`;
    const held = ranges.get(key);
    if (held) return held;
    const fetched = fetchRange(store, manifest, part, index);
    ranges.set(key, fetched);
    running.add(fetched);
    fetched.catch(() => ranges.delete(key)).finally(() => running.delete(fetched));
    if (ranges.size > heldRanges) ranges.delete(ranges.keys().next().value!);
    return fetched;
  };
  const readPart = async (part: number, from: number, to: number): Promise<Uint8Array[]> => {
    const own = await kept.read(manifest.parts[part]!.sha256, from, to);
    if (own) return [own];
    const first = Math.floor(from / rangeBytes);
    const last = Math.floor((to - 1) / rangeBytes);
    const pieces = await Promise.all(Array.from({ length: last - first + 1 }, (_, i) => range(part, first + i)));
    return pieces.map((piece, i) => {
      const at = (first + i) * rangeBytes;
      return piece.subarray(Math.max(0, from - at), to - at);
    });
  };
  return {
    name: `${manifest.session}.zip`,
    size: manifest.bytes,
    async read(start, to) {
      const stop = Math.min(to, manifest.bytes);
      const pieces: Uint8Array[] = [];
      for (let part = partAt(starts, start); part < starts.length && starts[part]! < stop; part++) {
        const at = starts[part]!;
        pieces.push(
          ...(await readPart(part, Math.max(0, start - at), Math.min(manifest.parts[part]!.bytes, stop - at))),
        );
      }
      return joined(pieces, Math.max(0, stop - start));
    },
    async idle() {
      while (running.size > 0) await Promise.allSettled([...running]);
    },
  };
}

async function fetchRange(
  store: RemoteStore,
  manifest: StoredSession,
  part: number,
  index: number,
): Promise<Uint8Array> {
  const { sha256: name, bytes } = manifest.parts[part]!;
  const path = `${sessionFolder(manifest.session)}${name}.part`;
  const end = Math.min(bytes, (index + 1) * rangeBytes);
  const found = await store.read(path, { start: index * rangeBytes, end });
  if (found?.length !== end - index * rangeBytes) throw new RemoteError('unexpected', `${path} is missing or shorter`);
  return found;
}

export interface KeepControl extends ReadControl {
  /** Awaited before a part is fetched that has so many bytes, of so many that are still to come. */
  readonly before?: (bytes: number, left: number) => Promise<void>;
}

/** Fetches every part that is not kept yet, checks it against its name and keeps it. */
export async function saveParts(
  store: RemoteStore,
  manifest: StoredSession,
  kept: KeptParts,
  control: KeepControl = {},
): Promise<void> {
  const missing: StoredSession['parts'] = [];
  for (const part of manifest.parts) if (!(await kept.has(part.sha256))) missing.push(part);
  let left = missing.reduce((sum, part) => sum + part.bytes, 0);
  control.onProgress?.(manifest.bytes - left, manifest.bytes);
  for (const { sha256: name, bytes } of missing) {
    await control.before?.(bytes, left);
    control.signal?.throwIfAborted();
    const path = `${sessionFolder(manifest.session)}${name}.part`;
    const found = await store.read(path);
    if (!found || (await sha256Of(found)) !== name) {
      throw new RemoteError('unexpected', `${path} is not what its name says`);
    }
    await kept.put(name, found);
    left -= bytes;
    control.onProgress?.(manifest.bytes - left, manifest.bytes);
  }
}

/** By the platform, off this thread, where it does: hashing 4 MB here would hold up frames. */
async function sha256Of(bytes: Uint8Array): Promise<string> {
  const subtle = globalThis.crypto?.subtle;
  if (!subtle) return sha256Hex(bytes);
  return bytesToHex(new Uint8Array(await subtle.digest('SHA-256', bytes as Uint8Array<ArrayBuffer>)));
}

/** The last part that begins at or before `at`. */
function partAt(starts: readonly number[], at: number): number {
  let [low, high] = [0, starts.length - 1];
  while (low < high) {
    const middle = Math.ceil((low + high) / 2);
    if (starts[middle]! <= at) low = middle;
    else high = middle - 1;
  }
  return low;
}

function joined(pieces: readonly Uint8Array[], length: number): Uint8Array {
  if (pieces.length === 1) return pieces[0]!;
  const out = new Uint8Array(length);
  let at = 0;
  for (const piece of pieces) {
    out.set(piece, at);
    at += piece.length;
  }
  return out;
}
