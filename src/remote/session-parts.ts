import { sha256 } from '@noble/hashes/sha2.js';
import { bytesToHex } from '@noble/hashes/utils.js';
import { sha256Hex } from '../core/marks/log';
import type { ByteSource, ReadControl } from '../formats/bytes/source';
import { FormatError } from '../formats/format-error';
import { hashInName, sessionFolder } from './names';
import { parseRecord, recordBytes, type StoredSession, storedSessionSchema } from './records';
import { RemoteError } from './remote-error';
import type { RemoteStore } from './remote-store';

/** Bytes of one part; the servers take up to 8 MB. */
const partBytes = 4 * 2 ** 20;

/**
 * Sends a session bundle in parts that are named by their own bytes, and the manifest last: a session whose sending broke
 * off is not there yet, and the next try sends only what is missing. A bundle written without compression can be read in
 * ranges afterwards. Resolves with the hash in the manifest's name.
 */
export async function sendSession(
  store: RemoteStore,
  session: { readonly id: string; readonly title: string },
  bundle: ByteSource,
  control: ReadControl = {},
): Promise<string> {
  const folder = sessionFolder(session.id);
  await store.folder(folder);
  const there = new Set(((await store.list(folder)) ?? []).map(e => e.name));
  const parts: StoredSession['parts'] = [];
  const whole = sha256.create();
  for (let start = 0; start < bundle.size; start += partBytes) {
    control.signal?.throwIfAborted();
    const bytes = await bundle.read(start, Math.min(bundle.size, start + partBytes));
    whole.update(bytes);
    const part = { sha256: sha256Hex(bytes), bytes: bytes.length };
    parts.push(part);
    if (!there.has(`${part.sha256}.part`)) await store.create(`${folder}${part.sha256}.part`, bytes);
    control.onProgress?.(start + bytes.length, bundle.size);
  }
  const manifest: StoredSession = {
    format: 'beat-ledger stored session',
    formatVersion: 1,
    session: session.id,
    title: session.title,
    bytes: bundle.size,
    sha256: bytesToHex(whole.digest()),
    parts,
  };
  const record = recordBytes(manifest);
  await store.create(`${folder}manifest-${record.sha256}.json`, record.bytes);
  return record.sha256;
}

/** Hashes of the manifests of a session; more than one where it was sent again with a change. */
export async function listManifests(store: RemoteStore, session: string): Promise<readonly string[]> {
  const listed = (await store.list(sessionFolder(session))) ?? [];
  return listed.flatMap(({ name }) => (name.startsWith('manifest-') ? (hashInName(name) ?? []) : []));
}

export async function readManifest(store: RemoteStore, session: string, hash: string): Promise<StoredSession> {
  const path = `${sessionFolder(session)}manifest-${hash}.json`;
  const bytes = await store.read(path);
  if (!bytes) throw new RemoteError('unexpected', `${path} is missing`);
  if (sha256Hex(bytes) !== hash) {
    throw new FormatError(
      path,
      'store',
      'its bytes',
      'they are not what its name says.',
      'Ask who administers the store.',
    );
  }
  return parseRecord(storedSessionSchema, path, bytes);
}

/** Parts kept on this machine, by hash, for work without a network. */
export interface KeptParts {
  get(sha256: string): Promise<Uint8Array | null>;
  put(sha256: string, bytes: Uint8Array): Promise<void>;
}

/** Bytes fetched at once for a read in the middle of a part: a tenth of a second at 20 Mbit/s. */
const rangeBytes = 256 * 2 ** 10;
/** Ranges held in memory. */
const heldRanges = 64;

/**
 * The bundle of a stored session as bytes with random access. A part that is kept is read from there, of others the
 * ranges that are asked for are fetched.
 */
export function storedBundle(store: RemoteStore, manifest: StoredSession, kept: KeptParts): ByteSource {
  const starts: number[] = [];
  let end = 0;
  for (const part of manifest.parts) {
    starts.push(end);
    end += part.bytes;
  }
  const ranges = new Map<string, Promise<Uint8Array>>();
  const range = (part: number, index: number): Promise<Uint8Array> => {
    const key = `${part}/${index}`;
    const held = ranges.get(key);
    if (held) return held;
    const fetched = fetchRange(store, manifest, part, index);
    ranges.set(key, fetched);
    fetched.catch(() => ranges.delete(key));
    if (ranges.size > heldRanges) ranges.delete(ranges.keys().next().value!);
    return fetched;
  };
  const readPart = async (part: number, from: number, to: number): Promise<Uint8Array[]> => {
    const whole = await kept.get(manifest.parts[part]!.sha256);
    if (whole) return [whole.subarray(from, to)];
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

/** Fetches every part that is not kept yet, checks it against its name and keeps it. */
export async function keepParts(
  store: RemoteStore,
  manifest: StoredSession,
  kept: KeptParts,
  control: ReadControl = {},
): Promise<void> {
  let done = 0;
  for (const { sha256: name, bytes } of manifest.parts) {
    control.signal?.throwIfAborted();
    if (!(await kept.get(name))) {
      const path = `${sessionFolder(manifest.session)}${name}.part`;
      const found = await store.read(path);
      if (!found || sha256Hex(found) !== name) throw new RemoteError('unexpected', `${path} is not what its name says`);
      await kept.put(name, found);
    }
    done += bytes;
    control.onProgress?.(done, manifest.bytes);
  }
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
