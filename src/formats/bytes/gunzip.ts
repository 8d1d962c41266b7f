import { FormatError } from '../format-error';
import { createInflater } from './inflate';
import type { ByteSource, ReadControl } from './source';

/** Largest inflated size that is read. */
const largestInflatedBytes = 2 * 2 ** 30;

/** Small, as 64 KB may inflate to 66 MB. */
const inputBlock = 1 << 16;

/** Whether the first bytes are those of a gzip file (RFC 1952). */
export function isGzip(head: Uint8Array): boolean {
  return head[0] === 0x1f && head[1] === 0x8b && head[2] === 8;
}

/**
 * A gzip file as its inflated bytes. A first pass measures it (refused past 2 GiB) and keeps up to 64 MB; a larger file
 * is inflated again as it is read, keeping only the part just read. Reading forwards is cheap; going back starts over.
 */
export async function gunzipSource(
  source: ByteSource,
  control: ReadControl = {},
  keepBytes = 2 ** 26,
): Promise<ByteSource> {
  const name = source.name.replace(/\.gz$/i, '');
  const kept: Uint8Array[] = [];
  let size = 0;
  for await (const piece of inflate(source, control)) {
    size += piece.length;
    if (size > largestInflatedBytes) {
      fail(source, 'byte 0', `it inflates to more than ${largestInflatedBytes} bytes.`, 'Inflate it by hand.');
    }
    if (size <= keepBytes) kept.push(piece);
    else kept.length = 0;
  }
  if (size <= keepBytes) {
    const bytes = joined(kept, size);
    return { name, size, read: async (start, end) => bytes.subarray(start, Math.min(end, size)) };
  }
  const window = new InflatedWindow(source);
  return { name, size, read: (start, end) => window.read(start, Math.min(end, size)) };
}

/** Inflated bytes around the last read. */
class InflatedWindow {
  private pieces: AsyncGenerator<Uint8Array> | null = null;
  private held: Uint8Array[] = [];
  private heldFrom = 0;
  private heldTo = 0;
  private queue: Promise<unknown> = Promise.resolve();

  constructor(private readonly source: ByteSource) {}

  /** Reads wait for each other, as they share the position. */
  read(start: number, end: number): Promise<Uint8Array> {
    const result = this.queue.then(() => this.readNow(start, end));
    this.queue = result.catch(() => {});
    return result;
  }

  private async readNow(start: number, end: number): Promise<Uint8Array> {
    if (this.pieces === null || start < this.heldFrom) {
      this.pieces = inflate(this.source, {});
      this.held = [];
      this.heldFrom = this.heldTo = 0;
    }
    while (this.heldTo < end) {
      const next = await this.pieces.next();
      if (next.done) break;
      this.held.push(next.value);
      this.heldTo += next.value.length;
      this.forget(start);
    }
    this.forget(start);
    return joined(this.held, this.heldTo - this.heldFrom).slice(start - this.heldFrom, end - this.heldFrom);
  }

  private forget(before: number): void {
    while (this.held.length > 0 && this.heldFrom + this.held[0]!.length <= before) {
      this.heldFrom += this.held.shift()!.length;
    }
  }
}

function joined(pieces: readonly Uint8Array[], size: number): Uint8Array {
  const out = new Uint8Array(size);
  let at = 0;
  for (const p of pieces) {
    out.set(p, at);
    at += p.length;
  }
  return out;
}

async function* inflate(source: ByteSource, control: ReadControl): AsyncGenerator<Uint8Array> {
  const inflater = createInflater(false);
  for (let at = 0; at < source.size; at += inputBlock) {
    control.signal?.throwIfAborted();
    const end = Math.min(source.size, at + inputBlock);
    const { out, problem } = inflater.push(await source.read(at, end), end === source.size);
    yield* out;
    if (problem) fail(source, `byte ${at}`, `it is cut off or damaged (${problem}).`, 'Copy it again.');
    control.onProgress?.(end, source.size);
  }
}

function fail(source: ByteSource, place: string, problem: string, remedy: string): never {
  throw new FormatError(source.name, 'gzip', place, problem, remedy);
}
