import { vi } from 'vitest';
import { writeBundle } from '../../../src/formats/bundle/writer';
import { createApp } from '../../../src/state/create-app';
import { createLibrary } from '../../../src/state/library';
import { type Made, madeSession } from '../formats/bundle/reviewed';

/**
 * The page's state without a browser: as in one that lets it keep nothing, the store is in memory and long jobs run on
 * the same thread. What Node has not got, range keys and locks between tabs, is added below.
 */
export function createPage() {
  vi.stubGlobal('IDBKeyRange', KeyRange);
  vi.stubGlobal('navigator', { locks: createLocks() });
  return createApp(createLibrary());
}

/** A range with both ends, the only kind that is asked for. */
class KeyRange {
  constructor(
    readonly lower: unknown,
    readonly upper: unknown,
  ) {}
  static bound(lower: unknown, upper: unknown): KeyRange {
    return new KeyRange(lower, upper);
  }
  includes(key: unknown): boolean {
    return compare(this.lower, key) <= 0 && compare(key, this.upper) <= 0;
  }
}

// source: Indexed Database API 3.0, section 2.4 "Keys": numbers before strings before arrays, these part by part
function compare(a: unknown, b: unknown): number {
  const rank = (k: unknown) => (typeof k === 'number' ? 0 : typeof k === 'string' ? 1 : 2);
  if (rank(a) !== rank(b)) return rank(a) - rank(b);
  if (!Array.isArray(a) || !Array.isArray(b)) return a === b ? 0 : (a as string) < (b as string) ? -1 : 1;
  for (let i = 0; i < Math.min(a.length, b.length); i++) {
    const order = compare(a[i], b[i]);
    if (order !== 0) return order;
  }
  return a.length - b.length;
}

type Granted = (lock: object | null) => unknown;

// source: Web Locks API, request() with ifAvailable, else in order of asking
function createLocks() {
  const waiting = new Map<string, (() => void)[]>();
  const hold = async (name: string, work: Granted) => {
    try {
      return await work({ name });
    } finally {
      const next = waiting.get(name)!.shift();
      if (next) next();
      else waiting.delete(name);
    }
  };
  return {
    query: async () => ({ held: [...waiting.keys()].map(name => ({ name })), pending: [] }),
    async request(name: string, options: { ifAvailable?: boolean }, work: Granted): Promise<unknown> {
      const queue = waiting.get(name);
      if (!queue) {
        waiting.set(name, []);
        return hold(name, work);
      }
      if (options.ifAvailable) return work(null);
      await new Promise<void>(turn => queue.push(turn));
      return hold(name, work);
    },
  };
}

/** An invented session under an id of its own, as a file. */
export function bundleOf(id: string, raters: readonly string[] = ['R1']) {
  const made = madeSession(raters, 60, id);
  return { ...made.reviewed, file: fileOf(made) };
}

/** The same with only the first entries of each log. */
export function beginningOf(id: string, entries: number, raters: readonly string[] = ['R1']) {
  const made = madeSession(raters, 60, id);
  const logs = made.reviewed.logs.map(log => ({ ...log, entries: log.entries.slice(0, entries) }));
  const reviewed = { ...made.reviewed, logs };
  return { ...reviewed, file: fileOf({ ...made, reviewed }) };
}

function fileOf({ reviewed, leads }: Made): File {
  return new File([writeBundle(reviewed, leads)], `${reviewed.session.id}.zip`);
}
