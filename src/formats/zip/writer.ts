import { sha256 } from '@noble/hashes/sha2.js';
import { bytesToHex, utf8ToBytes } from '@noble/hashes/utils.js';
import { Deflate } from 'pako';
import { crc32 } from '../bytes/crc32';
import { dataDescriptor, directory, localHeader, type PackedEntry, zip64From } from './records';

/** Size and SHA-256 of one entry, before compression. */
export interface EntryCheck {
  readonly bytes: number;
  readonly sha256: string;
}

/** Deflate level, 0 (stored) to 9. */
export type ZipLevel = 0 | 1 | 2 | 3 | 4 | 5 | 6 | 7 | 8 | 9;
/** Of an ECG's words, 3 leaves no more than 6 does (1.447 to 1.465 MB of 2.840) in a third of the time. */
const defaultZipLevel: ZipLevel = 3;

/** The deflated bytes depend on how the input is cut, so it is always cut in pieces of this size. */
const pieceBytes = 1 << 16;

export interface OpenEntry {
  push(bytes: Uint8Array): void;
  close(): void;
}

/**
 * Writes a zip piece by piece. The same content gives the same bytes: every time stamp is 1980-01-01 00:00:00, and the
 * caller gives the order of entries. Finished bytes are taken with `take`. What does not fit 32 bits is written as Zip64.
 */
export class ZipWriter {
  readonly checks = new Map<string, EntryCheck>();
  private readonly entries: PackedEntry[] = [];
  private out: Uint8Array[] = [];
  private written = 0;

  /** `limit`: sizes and places from here on are written as Zip64; only tests lower it. */
  constructor(
    readonly level: ZipLevel = defaultZipLevel,
    private readonly limit = zip64From,
  ) {}

  /** A whole entry at once. */
  add(path: string, bytes: Uint8Array): void {
    const entry = this.open(path, bytes.length);
    entry.push(bytes);
    entry.close();
  }

  /**
   * Starts an entry; it must be closed before the next one is opened. `expectedBytes`, where known, lets the entry's own
   * header say that its sizes have 64 bits, as readers that do not begin with the directory need.
   */
  open(path: string, expectedBytes = 0): OpenEntry {
    const name = utf8ToBytes(path);
    const compression = this.level === 0 ? 0 : 8;
    // Deflate makes what it cannot pack a little longer.
    const announced = expectedBytes * 1.001 + 1000 >= this.limit;
    const headerOffset = this.written;
    this.put(localHeader(name, compression, announced));
    const from = this.written;
    const packer = this.level === 0 ? stored(b => this.put(b)) : deflated(this.level, b => this.put(b));
    const hash = sha256.create();
    let crc = 0;
    let bytes = 0;
    const pieces = new Pieces(piece => {
      crc = crc32(piece, crc);
      packer(piece, false);
    });
    return {
      push(part) {
        hash.update(part);
        bytes += part.length;
        pieces.push(part);
      },
      close: () => {
        const last = pieces.rest();
        crc = crc32(last, crc);
        packer(last, true);
        const packedBytes = this.written - from;
        const entry = { path: name, compression, crc32: crc, packedBytes, bytes, headerOffset, announced } as const;
        this.put(dataDescriptor(entry, this.limit));
        this.entries.push(entry);
        this.checks.set(path, { bytes, sha256: bytesToHex(hash.digest()) });
      },
    };
  }

  end(): void {
    for (const bytes of directory(this.entries, this.written, this.limit)) this.put(bytes);
  }

  /** What was finished since the last call. */
  take(): Uint8Array[] {
    const out = this.out;
    this.out = [];
    return out;
  }

  private put(bytes: Uint8Array): void {
    if (bytes.length === 0) return;
    this.written += bytes.length;
    this.out.push(bytes);
  }
}

/** Cuts what comes in pieces of one size, each an array of its own. */
class Pieces {
  private piece = new Uint8Array(pieceBytes);
  private filled = 0;

  constructor(private readonly take: (piece: Uint8Array) => void) {}

  push(bytes: Uint8Array): void {
    for (let at = 0; at < bytes.length; ) {
      const n = Math.min(pieceBytes - this.filled, bytes.length - at);
      this.piece.set(bytes.subarray(at, at + n), this.filled);
      this.filled += n;
      at += n;
      if (this.filled === pieceBytes) this.take(this.next());
    }
  }

  rest(): Uint8Array {
    return this.next();
  }

  private next(): Uint8Array {
    const full = this.piece.subarray(0, this.filled);
    this.piece = new Uint8Array(pieceBytes);
    this.filled = 0;
    return full;
  }
}

type Packer = (bytes: Uint8Array, final: boolean) => void;

const stored =
  (put: (bytes: Uint8Array) => void): Packer =>
  bytes =>
    put(bytes);

/**
 * The stream is pako's: fflate's own streaming deflate (0.8.3) writes back-references to before the start of some inputs,
 * which no reader accepts; see the test in tests/unit/formats/bundle that keeps such inputs.
 */
function deflated(level: ZipLevel, put: (bytes: Uint8Array) => void): Packer {
  const stream = new Deflate({ raw: true, level: level as 6, chunkSize: pieceBytes });
  stream.onData = bytes => put(bytes as Uint8Array);
  return (bytes, final) => {
    stream.push(bytes, final);
    if (stream.err) throw new RangeError(`deflate failed: ${stream.msg}`);
  };
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
