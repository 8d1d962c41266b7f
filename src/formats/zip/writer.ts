import { sha256 } from '@noble/hashes/sha2.js';
import { bytesToHex } from '@noble/hashes/utils.js';
import { Zip, ZipPassThrough } from 'fflate';
import { Deflate } from 'pako';

/** Size and SHA-256 of one entry, before compression. */
export interface EntryCheck {
  readonly bytes: number;
  readonly sha256: string;
}

/** Deflate level, 0 (stored) to 9. */
export type ZipLevel = 0 | 1 | 2 | 3 | 4 | 5 | 6 | 7 | 8 | 9;
/** Of an ECG's words, 3 leaves no more than 6 does (1.447 to 1.465 MB of 2.840) in a third of the time. */
const defaultZipLevel: ZipLevel = 3;

/** Largest archive and entry: sizes are 32 bits (no Zip64). */
const maxZipBytes = 2 ** 32 - 2;

/** The deflated bytes depend on how the input is cut, so it is always cut in pieces of this size. */
const pieceBytes = 1 << 16;

/**
 * One deflated entry. The stream is pako's: fflate's own streaming deflate (0.8.3) writes back-references to before the
 * start of some inputs, which no reader accepts; see the test in tests/unit/bundle that keeps one such input.
 */
class Deflated extends ZipPassThrough {
  private readonly stream: Deflate;

  constructor(path: string, level: ZipLevel) {
    super(path);
    this.compression = 8;
    this.stream = new Deflate({ raw: true, level: level as 6, chunkSize: pieceBytes });
    this.stream.onData = bytes => this.ondata(null, bytes as Uint8Array<ArrayBuffer>, false);
  }

  protected override process(bytes: Uint8Array, final: boolean): void {
    this.stream.push(bytes, final);
    if (this.stream.err) throw new RangeError(`deflate failed: ${this.stream.msg}`);
    if (final) this.ondata(null, new Uint8Array(0), true);
  }
}

/**
 * Writes a zip piece by piece. The same content gives the same bytes: every time stamp is 1980-01-01 00:00:00, and the
 * caller gives the order of entries. Finished bytes are taken with `take`.
 */
export class ZipWriter {
  readonly checks = new Map<string, EntryCheck>();
  private out: Uint8Array[] = [];
  private written = 0;
  private readonly zip: Zip;

  constructor(readonly level: ZipLevel = defaultZipLevel) {
    this.zip = new Zip((error, bytes) => {
      if (error) throw error;
      this.written += bytes.length;
      if (this.written > maxZipBytes) throw new RangeError('a bundle holds at most 4 GiB: split the session');
      this.out.push(bytes);
    });
  }

  /** A whole entry at once. */
  add(path: string, bytes: Uint8Array): void {
    const entry = this.open(path);
    entry.push(bytes);
    entry.close();
  }

  /** Starts an entry; it must be closed before the next one is opened. */
  open(path: string): { push(bytes: Uint8Array): void; close(): void } {
    const file = this.level === 0 ? new ZipPassThrough(path) : new Deflated(path, this.level);
    // fflate stores local time, so a local date gives the same bytes in every time zone.
    file.mtime = new Date(1980, 0, 1);
    this.zip.add(file);
    const hash = sha256.create();
    let total = 0;
    let piece = new Uint8Array(pieceBytes);
    let filled = 0;
    const push = (bytes: Uint8Array) => {
      hash.update(bytes);
      total += bytes.length;
      for (let at = 0; at < bytes.length; ) {
        const n = Math.min(pieceBytes - filled, bytes.length - at);
        piece.set(bytes.subarray(at, at + n), filled);
        filled += n;
        at += n;
        if (filled < pieceBytes) continue;
        file.push(piece, false);
        piece = new Uint8Array(pieceBytes);
        filled = 0;
      }
    };
    const close = () => {
      file.push(piece.subarray(0, filled), true);
      this.checks.set(path, { bytes: total, sha256: bytesToHex(hash.digest()) });
    };
    return { push, close };
  }

  end(): void {
    this.zip.end();
  }

  /** What was finished since the last call. */
  take(): Uint8Array[] {
    const out = this.out;
    this.out = [];
    return out;
  }
}

export function joinBytes(parts: readonly Uint8Array[]): Uint8Array<ArrayBuffer> {
  const out = new Uint8Array(parts.reduce((n, p) => n + p.length, 0));
  let at = 0;
  for (const p of parts) {
    out.set(p, at);
    at += p.length;
  }
  return out;
}
