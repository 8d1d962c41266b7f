import type { SampleArray } from '../../core/recording/recording';

/** Of a file of arrays, its series, and the names of those that are read. */
export interface SeriesChoice {
  readonly all: readonly { readonly name: string; readonly length: number }[];
  readonly taken: readonly string[];
}

/** Bytes with random access: a File in the page, a file handle or buffer in Node. Never read whole unless small. */
export interface ByteSource {
  /** File name as the person knows it. */
  readonly name: string;
  readonly size: number;
  /** Bytes `[start, end)`, clipped to the size. */
  read(start: number, end: number): Promise<Uint8Array>;
  /** What these bytes were made from, where they are not those of the file: its format, and what is to be said of it. */
  readonly made?: {
    readonly format: string;
    readonly understood: readonly string[];
    readonly doubts: readonly string[];
    readonly variables: SeriesChoice;
  };
}

/** Where a reader puts decoded words, lead by lead, in time order; blocks may be reused by the reader afterwards. */
export interface SampleSink {
  write(lead: number, words: SampleArray): void | Promise<void>;
  /**
   * So many samples of the lead were not recorded. Comes after its first words and before more of them; the reader lists
   * the stretch as `unrecorded` in its answer.
   */
  skip(lead: number, count: number): void | Promise<void>;
  /**
   * Forgets everything written. Called when words turn out not to fit the format chosen from the first part of the
   * file; the reader then starts again with a wider one. A sink without it makes the read fail with that advice.
   */
  restart?(): void | Promise<void>;
}

/** How a long read reports and stops. */
export interface ReadControl {
  readonly onProgress?: (doneBytes: number, totalBytes: number) => void;
  /** Checked between blocks; an aborted read rejects with the signal's reason. */
  readonly signal?: AbortSignal;
}

export function bytesSource(name: string, bytes: Uint8Array): ByteSource {
  return { name, size: bytes.length, read: async (start, end) => bytes.subarray(start, Math.min(end, bytes.length)) };
}

export function fileSource(file: File): ByteSource {
  return {
    name: file.name,
    size: file.size,
    read: async (start, end) => new Uint8Array(await file.slice(start, end).arrayBuffer()),
  };
}

/** Size of one read; large enough that the per-read cost vanishes, small enough to cancel at once. */
export const blockBytes = 4 * 1024 * 1024;
