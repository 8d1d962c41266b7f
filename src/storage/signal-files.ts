/**
 * Where signal bytes lie: the browser's private file system, Blobs in IndexedDB where that is missing, ArrayBuffers where
 * it takes no Blobs, or memory alone.
 */
export interface SignalFiles {
  readonly kind: 'opfs' | 'blobs' | 'buffers' | 'memory';
  /** Makes the file again. Only in a worker, as the fast way of writing exists only there. */
  create(path: FilePath): Promise<FileAppender>;
  /** Null when there is no such file. */
  open(path: FilePath): Promise<FileReading | null>;
  /** Removes everything of a session, or of one recording of it. What is not there is no error. */
  remove(session: string, recording?: string): Promise<void>;
}

export interface FilePath {
  readonly session: string;
  readonly recording: string;
  /** E.g. `0.words`. */
  readonly name: string;
}

export interface FileAppender {
  /** Bytes may be reused by the caller once the answer is there. */
  append(bytes: Uint8Array): void | Promise<void>;
  /** Makes what was appended readable. */
  settle(): void | Promise<void>;
  /** Makes everything readable and durable. */
  close(): void | Promise<void>;
}

export interface FileReading {
  readonly size: number;
  /** Bytes `[start, end)`, in a buffer of their own. */
  read(start: number, end: number): Promise<ArrayBuffer>;
}

/** Ids become file names, so anything else than letters, digits, hyphen, dot and underscore is a bug. */
export function checkedName(part: string): string {
  if (!/^[\w-][\w.-]*$/.test(part)) throw new RangeError(`not usable as a file name: ${part}`);
  return part;
}
