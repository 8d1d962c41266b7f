import { asStorageProblem } from './problem';
import { withoutDisk } from './without-disk';

/** Parts of a session that is being fetched, by their SHA-256, kept until the signals are stored from them. */
export interface FetchedParts {
  has(sha256: string): Promise<boolean>;
  /** Bytes `[start, end)` of a part; null where it is not kept. */
  read(sha256: string, start: number, end: number): Promise<Uint8Array | null>;
  /** Rejects with a StorageProblem, where the disk is full for one. */
  put(sha256: string, bytes: Uint8Array): Promise<void>;
  remove(sha256: string): Promise<void>;
  /** A part as a Blob whose bytes may stay on the disk. */
  blob(sha256: string): Promise<Blob | null>;
}

const prefix = 'beat-ledger-fetched/';
const inMemory = new Map<string, Map<string, Blob>>();

/** The browser's cache keeps files by address, outside of what is checked for new versions of the page. */
const cacheAtHand = () => (withoutDisk() === null && typeof caches !== 'undefined' ? caches : null);
const addressOf = (sha256: string) => new URL(`/fetched-part/${sha256}`, location.href).href;

export async function openFetchedParts(session: string): Promise<FetchedParts> {
  const cache = await cacheAtHand()?.open(prefix + session);
  return cache ? inCache(cache) : memoryParts(session);
}

/** Forgets what was fetched of a session; what is not there is no error. */
export async function removeFetchedParts(session: string): Promise<void> {
  inMemory.delete(session);
  await cacheAtHand()?.delete(prefix + session);
}

/** Sessions of which parts are kept. */
export async function sessionsFetchedInPart(): Promise<ReadonlySet<string>> {
  const names = (await cacheAtHand()?.keys()) ?? [];
  const kept = names.filter(name => name.startsWith(prefix)).map(name => name.slice(prefix.length));
  return new Set([...kept, ...inMemory.keys()]);
}

function inCache(cache: Cache): FetchedParts {
  const blob: FetchedParts['blob'] = async sha256 => (await (await cache.match(addressOf(sha256)))?.blob()) ?? null;
  return {
    blob,
    has: async sha256 => (await cache.match(addressOf(sha256))) !== undefined,
    read: (sha256, start, end) => sliceOf(blob(sha256), start, end),
    remove: async sha256 => void (await cache.delete(addressOf(sha256))),
    async put(sha256, bytes) {
      try {
        await cache.put(addressOf(sha256), new Response(bytes as Uint8Array<ArrayBuffer>));
      } catch (error) {
        throw asStorageProblem(error);
      }
    },
  };
}

function memoryParts(session: string): FetchedParts {
  const parts = inMemory.get(session) ?? new Map<string, Blob>();
  inMemory.set(session, parts);
  const blob: FetchedParts['blob'] = async sha256 => parts.get(sha256) ?? null;
  return {
    blob,
    has: async sha256 => parts.has(sha256),
    read: (sha256, start, end) => sliceOf(blob(sha256), start, end),
    remove: async sha256 => void parts.delete(sha256),
    put: async (sha256, bytes) => void parts.set(sha256, new Blob([bytes as Uint8Array<ArrayBuffer>])),
  };
}

async function sliceOf(found: Promise<Blob | null>, start: number, end: number): Promise<Uint8Array | null> {
  const blob = await found;
  return blob && new Uint8Array(await blob.slice(start, end).arrayBuffer());
}
