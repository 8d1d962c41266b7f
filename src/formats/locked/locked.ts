import type { ByteSource } from '../bytes/source';
import { FormatError } from '../format-error';

/**
 * Files locked with a passphrase, described in public/schema/locked-bundle.md. Key: PBKDF2-HMAC-SHA-256 (RFC 8018), then
 * HKDF-SHA-256 (RFC 5869). Body: AES-256-GCM (NIST SP 800-38D) in chunks whose nonce holds their number and whether they
 * are the last (the STREAM construction: Hoang, Reyhanitabar, Rogaway and Vizár, CRYPTO 2015), so that chunks cannot be
 * changed, reordered, dropped or cut off unseen, and any chunk can be read by itself.
 */

const magic = 'LEDGLOCK';
export const lockedFormatVersion = 1;
const headerBytes = 68;
const tagBytes = 16;
const chunkBytes = 1 << 20;
const smallestChunk = 1 << 10;
const largestChunk = 1 << 24;
/** source: OWASP Password Storage Cheat Sheet (2023): at least 600,000 rounds of PBKDF2-HMAC-SHA-256. */
const fewestRounds = 600_000;
const rounds = 1_000_000;
/** More would only keep the person waiting. */
const mostRounds = 20_000_000;

type Bytes = Uint8Array<ArrayBuffer>;

interface Header {
  readonly bytes: Bytes;
  readonly rounds: number;
  readonly chunkBytes: number;
  readonly salt: Bytes;
  readonly noncePrefix: Bytes;
  readonly check: Bytes;
}

interface Keys {
  readonly key: CryptoKey;
  /** Tells a wrong passphrase from a damaged file. */
  readonly check: Bytes;
}

export class WrongPassphrase extends Error {
  override readonly name = 'WrongPassphrase';

  constructor(file: string) {
    super(`This passphrase does not open ${file}.`);
  }
}

export function isLocked(head: Uint8Array): boolean {
  return head.length >= magic.length && String.fromCharCode(...head.subarray(0, magic.length)) === magic;
}

/** Locks a file piece by piece, holding one chunk at a time. Every file gets its own salt, and with it its own key. */
export async function* lockBlocks(
  blocks: AsyncIterable<Uint8Array> | Iterable<Uint8Array>,
  passphrase: string,
): AsyncGenerator<Bytes> {
  if (passphrase === '') throw new RangeError('a passphrase cannot be empty');
  const salt = crypto.getRandomValues(new Uint8Array(16));
  const noncePrefix = crypto.getRandomValues(new Uint8Array(7));
  const keys = await keysOf(passphrase, salt, rounds);
  const header = headerOf({ rounds, chunkBytes, salt, noncePrefix, check: keys.check });
  yield header.bytes;
  let held: Bytes = new Uint8Array(chunkBytes);
  let filled = 0;
  let index = 0;
  for await (const block of blocks) {
    for (let at = 0; at < block.length; ) {
      // A full chunk waits until more comes: only then is it known not to be the last.
      if (filled === chunkBytes) {
        yield await lockChunk(keys.key, header, index++, false, held);
        held = new Uint8Array(chunkBytes);
        filled = 0;
      }
      const piece = block.subarray(at, at + chunkBytes - filled);
      held.set(piece, filled);
      filled += piece.length;
      at += piece.length;
    }
  }
  yield await lockChunk(keys.key, header, index, true, held.subarray(0, filled));
}

/**
 * The file inside, with random access; only the chunks asked for are unlocked. The last one is unlocked at once, so that
 * a cut file is found before anything is read. Throws WrongPassphrase, or a FormatError where bytes were changed.
 */
export async function unlockSource(source: ByteSource, passphrase: string): Promise<ByteSource> {
  const header = await readHeader(source);
  const keys = await keysOf(passphrase, header.salt, header.rounds);
  if (!sameBytes(keys.check, header.check)) throw new WrongPassphrase(source.name);
  const whole = header.chunkBytes + tagBytes;
  const body = source.size - headerBytes;
  const count = Math.max(1, Math.ceil(body / whole));
  const size = body - count * tagBytes;
  const chunk = async (index: number): Promise<Uint8Array> => {
    const start = headerBytes + index * whole;
    const locked = (await source.read(start, Math.min(start + whole, source.size))) as Bytes;
    const nonce = nonceOf(header, index, index === count - 1);
    try {
      const parameters = { name: 'AES-GCM', iv: nonce, additionalData: header.bytes };
      return new Uint8Array(await crypto.subtle.decrypt(parameters, keys.key, locked));
    } catch {
      const last = index === count - 1;
      throw fault(
        source,
        `byte ${start}`,
        last ? 'the end of the file is missing or was changed.' : 'bytes here were changed.',
      );
    }
  };
  await chunk(count - 1);
  return {
    name: source.name,
    size,
    read: (start, end) => readChunks(chunk, header.chunkBytes, start, Math.min(end, size)),
  };
}

async function readChunks(
  chunk: (index: number) => Promise<Uint8Array>,
  width: number,
  start: number,
  end: number,
): Promise<Uint8Array> {
  const out = new Uint8Array(Math.max(0, end - start));
  for (let index = Math.floor(start / width); index * width < end; index++) {
    const from = Math.max(start, index * width);
    const bytes = await chunk(index);
    out.set(bytes.subarray(from - index * width, end - index * width), from - start);
  }
  return out;
}

async function lockChunk(key: CryptoKey, header: Header, index: number, last: boolean, plain: Bytes): Promise<Bytes> {
  const parameters = { name: 'AES-GCM', iv: nonceOf(header, index, last), additionalData: header.bytes };
  return new Uint8Array(await crypto.subtle.encrypt(parameters, key, plain));
}

/** 7 random bytes of the file, the chunk's number, and 1 for the last chunk. */
function nonceOf(header: Header, index: number, last: boolean): Bytes {
  const nonce = new Uint8Array(12);
  nonce.set(header.noncePrefix);
  new DataView(nonce.buffer).setUint32(7, index);
  nonce[11] = last ? 1 : 0;
  return nonce;
}

async function keysOf(passphrase: string, salt: Bytes, iterations: number): Promise<Keys> {
  if (!globalThis.crypto?.subtle) {
    throw new Error(
      'Locking needs a page served over https or from this computer: the browser offers no ciphers here.',
    );
  }
  const { subtle } = crypto;
  // The same letters typed on another keyboard give the same key.
  const typed = new TextEncoder().encode(passphrase.normalize('NFKC'));
  const base = await subtle.importKey('raw', typed, 'PBKDF2', false, ['deriveBits']);
  const master = await subtle.deriveBits({ name: 'PBKDF2', hash: 'SHA-256', salt, iterations }, base, 256);
  const root = await subtle.importKey('raw', master, 'HKDF', false, ['deriveBits', 'deriveKey']);
  const derive = (info: string) => {
    return { name: 'HKDF', hash: 'SHA-256', salt: new Uint8Array(0), info: new TextEncoder().encode(info) };
  };
  const algorithm = { name: 'AES-GCM', length: 256 };
  const key = await subtle.deriveKey(derive('locked bundle, body'), root, algorithm, false, ['encrypt', 'decrypt']);
  const check = new Uint8Array(await subtle.deriveBits(derive('locked bundle, check'), root, 128));
  return { key, check };
}

/** Magic, version, rounds, chunk size, salt, nonce prefix, check; numbers little-endian, gaps zero. */
function headerOf(parts: Omit<Header, 'bytes'>): Header {
  const bytes = new Uint8Array(headerBytes);
  const view = new DataView(bytes.buffer);
  for (let i = 0; i < magic.length; i++) bytes[i] = magic.charCodeAt(i);
  view.setUint32(8, lockedFormatVersion, true);
  view.setUint32(12, parts.rounds, true);
  view.setUint32(16, parts.chunkBytes, true);
  bytes.set(parts.salt, 20);
  bytes.set(parts.noncePrefix, 36);
  bytes.set(parts.check, 44);
  return { ...parts, bytes };
}

async function readHeader(source: ByteSource): Promise<Header> {
  const bytes = (await source.read(0, headerBytes)).slice() as Bytes;
  if (!isLocked(bytes)) throw fault(source, 'byte 0', 'this is not a locked file.');
  if (source.size < headerBytes + tagBytes) throw fault(source, `byte ${source.size}`, 'the file ends too early.');
  const view = new DataView(bytes.buffer);
  const header = {
    bytes,
    rounds: view.getUint32(12, true),
    chunkBytes: view.getUint32(16, true),
    salt: bytes.subarray(20, 36),
    noncePrefix: bytes.subarray(36, 43),
    check: bytes.subarray(44, 60),
  };
  if (view.getUint32(8, true) > lockedFormatVersion) {
    throw new FormatError(
      source.name,
      'locked bundle',
      'byte 8',
      'it was locked by a newer version.',
      'Open it there.',
    );
  }
  const { rounds: found, chunkBytes: width } = header;
  if (found < fewestRounds || found > mostRounds) throw fault(source, 'byte 12', `${found} rounds are out of bounds.`);
  if (width < smallestChunk || width > largestChunk)
    throw fault(source, 'byte 16', `chunks of ${width} bytes are out of bounds.`);
  return header;
}

function sameBytes(a: Uint8Array, b: Uint8Array): boolean {
  return a.length === b.length && a.every((byte, i) => byte === b[i]);
}

function fault(source: ByteSource, place: string, problem: string): FormatError {
  return new FormatError(source.name, 'locked bundle', place, problem, 'Get the file again from where it was locked.');
}
