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
