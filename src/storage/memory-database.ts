import type { Database } from './database';
import type { StorageKey } from './keys';
import { StorageProblem } from './problem';

/**
 * A store without a disk, for a browser that lets the page keep nothing: it answers as the real one does, and it is gone
 * with the tab.
 */
export function createMemoryDatabase(): Database {
  let records = new Map<string, MemoryRecord>();
  let last: Promise<unknown> = Promise.resolve();
  const write = async <T>(work: (store: IDBObjectStore) => Promise<T>): Promise<T> => {
    const before = new Map(records);
    try {
      return await work(storeOver(records));
    } catch (error) {
      records = before;
      throw error;
    }
  };
  return {
    name: 'in memory',
    read: work => work(storeOver(records)),
    // One after the other, so that a failed one takes back nothing but its own.
    write: work => {
      const mine = last.then(() => write(work));
      last = mine.catch(() => undefined);
      return mine;
    },
  };
}

interface MemoryRecord {
  readonly key: StorageKey;
  readonly value: unknown;
}

/** The part of an object store that this program uses. */
function storeOver(records: Map<string, MemoryRecord>): IDBObjectStore {
  const chosen = (query?: IDBValidKey | IDBKeyRange | null) =>
    [...records.values()]
      .filter(r => query === undefined || query === null || holds(query, r.key))
      .sort((a, b) => compareKeys(a.key, b.key));
  const store = {
    get: (key: StorageKey) => requestOf(() => records.get(JSON.stringify(key))?.value),
    getAll: (query?: IDBKeyRange) => requestOf(() => chosen(query).map(r => r.value)),
    getAllKeys: (query?: IDBKeyRange) => requestOf(() => chosen(query).map(r => r.key)),
    put: (value: unknown, key: StorageKey) => requestOf(() => void records.set(JSON.stringify(key), { key, value })),
    add: (value: unknown, key: StorageKey) =>
      requestOf(() => {
        const name = JSON.stringify(key);
        if (records.has(name)) throw new StorageProblem('conflict', name);
        records.set(name, { key, value });
      }),
    delete: (query: IDBValidKey | IDBKeyRange) =>
      requestOf(() => {
        for (const { key } of chosen(query)) records.delete(JSON.stringify(key));
      }),
  };
  return store as unknown as IDBObjectStore;
}

function holds(query: IDBValidKey | IDBKeyRange, key: StorageKey): boolean {
  return query instanceof IDBKeyRange ? query.includes(key) : compareKeys(query as StorageKey, key) === 0;
}

/** The work is done at once; whoever asked hears of it afterwards, as from the browser. */
function requestOf<T>(work: () => T): IDBRequest<T> {
  const request = { result: undefined as T, error: null as unknown, onsuccess: null, onerror: null } as {
    result: T;
    error: unknown;
    onsuccess: (() => void) | null;
    onerror: (() => void) | null;
  };
  try {
    request.result = work();
    queueMicrotask(() => request.onsuccess?.());
  } catch (error) {
    request.error = error;
    queueMicrotask(() => request.onerror?.());
  }
  return request as unknown as IDBRequest<T>;
}

type Part = string | number | readonly Part[];

/** Order of keys as in the Indexed Database API: numbers, then strings, then arrays part by part. */
function compareKeys(a: Part, b: Part): number {
  const rank = (p: Part) => (typeof p === 'number' ? 0 : typeof p === 'string' ? 1 : 2);
  if (rank(a) !== rank(b)) return rank(a) - rank(b);
  if (!Array.isArray(a) || !Array.isArray(b)) return a < b ? -1 : a > b ? 1 : 0;
  for (let i = 0; i < Math.min(a.length, b.length); i++) {
    const order = compareKeys(a[i] as Part, b[i] as Part);
    if (order !== 0) return order;
  }
  return a.length - b.length;
}
