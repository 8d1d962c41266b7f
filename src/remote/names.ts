/**
 * Where everything of a study lies in a lab's store. The servers' configurations tie rights to these names
 * (public/lab-store/README.md), so they are not to be changed.
 */
export const topFolders = ['study', 'sessions', 'assign', 'settle', 'logs', 'done', 'after', 'heads'] as const;
/** Those with a folder for each rater. */
export const raterFolders = ['assign', 'settle', 'logs', 'done', 'after'] as const;

export const sessionFolder = (session: string) => `sessions/${session}/`;
export const assignFolder = (rater: string) => `assign/${rater}/`;
export const settleFolder = (rater: string) => `settle/${rater}/`;
export const doneFolder = (rater: string) => `done/${rater}/`;
export const assignmentPath = (rater: string, session: string) => `assign/${rater}/${session}.json`;
export const settlementPath = (rater: string, session: string) => `settle/${rater}/${session}.json`;
export const signOffPath = (rater: string, session: string) => `done/${rater}/${session}.json`;

/** Folders of a log: entries before the sign-off, and those after it. */
export const logFolder = (rater: string, session: string) => `logs/${rater}/${session}/`;
export const afterFolder = (rater: string, session: string) => `after/${rater}/${session}/`;

/** A code that can be an account and a folder. */
export const isRaterCode = (code: string) => /^[A-Za-z0-9_@][A-Za-z0-9_.@-]{0,63}$/.test(code);

/** Consecutive entries `from` to `to`, both included, as one file; its name says which, and ends the chain they belong to. */
export interface Chunk {
  readonly from: number;
  readonly to: number;
  /** Of entry `to`. */
  readonly hash: string;
  readonly name: string;
}

const digits = (n: number) => String(n).padStart(8, '0');

export function chunkOf(from: number, to: number, hash: string): Chunk {
  return { from, to, hash, name: `${digits(from)}-${digits(to)}-${hash}.jsonl` };
}

/** Null for a name that is not that of a chunk. */
export function parseChunkName(name: string): Chunk | null {
  const found = /^(\d{8})-(\d{8})-([0-9a-f]{64})\.jsonl$/.exec(name);
  if (!found) return null;
  const [from, to] = [Number(found[1]), Number(found[2])];
  return from <= to ? { from, to, hash: found[3]!, name } : null;
}

/** The SHA-256 in a name such as `<sha256>.part`, `manifest-<sha256>.json` or `0001-<sha256>.json`; null where there is none. */
export function hashInName(name: string): string | null {
  return /(?:^|-)([0-9a-f]{64})\.(?:part|json)$/.exec(name)?.[1] ?? null;
}

/** The number before the hash in `0001-<sha256>.json`; null where there is none. */
export function numberInName(name: string): number | null {
  const found = /^(\d{4,6})-[0-9a-f]{64}\.json$/.exec(name);
  return found ? Number(found[1]) : null;
}
