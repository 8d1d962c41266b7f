/**
 * What a lab's store has to offer. Names are created once and never replaced; everything else is built on these four.
 * Paths are relative to one study and have no leading slash; those of folders end in a slash. Each call rejects with a
 * RemoteError.
 */
export interface RemoteStore {
  /** Creates a file. 'exists': the name is taken, by this file sent before or by another; it was left as it is. */
  create(path: string, bytes: Uint8Array): Promise<'created' | 'exists'>;
  /** Creates a folder, whose parent must be there; nothing happens where it exists. */
  folder(path: string): Promise<void>;
  /** What lies in a folder, by name; null when there is no such folder. */
  list(path: string): Promise<readonly RemoteEntry[] | null>;
  /** A file's bytes, or those of `[start, end)` clipped to its size; null when there is no such file. */
  read(path: string, range?: ByteRange): Promise<Uint8Array | null>;
}

export interface RemoteEntry {
  readonly name: string;
  readonly isFolder: boolean;
  /** Changes when the file or the folder's list of names changes; '' where the server does not say, or just after a change. */
  readonly tag: string;
}

export interface ByteRange {
  readonly start: number;
  readonly end: number;
}

/** An account of the lab's server. A rater's code is the name of the account. */
export interface Account {
  readonly user: string;
  readonly password: string;
}

/** Where a study is kept and who asks. */
export interface Connection {
  /** Address of the study, ending in a slash: 'https://lab.example/study/trial-1/'. */
  readonly base: string;
  /** Null where the server signs people in by a cookie of its own. */
  readonly account: Account | null;
  /** By default the platform's. */
  readonly fetch?: typeof fetch;
}
