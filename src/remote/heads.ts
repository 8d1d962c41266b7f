import { sha256Hex } from '../core/marks/log';
import { hashInName, numberInName } from './names';
import { type Heads, headsSchema, parseRecord, recordBytes } from './records';
import { RemoteError } from './remote-error';
import type { RemoteStore } from './remote-store';

/**
 * Heads: how long each log is and the hash it ends in, written down by a supervisor from time to time. A chain of hashes
 * does not show that its end was cut off; a list of heads does, above all one that is printed or kept elsewhere.
 */
export type Head = Heads['heads'][number];

export interface StoredHeads {
  readonly number: number;
  readonly sha256: string;
  readonly heads: Heads;
}

/** All lists, in order, with what is wrong with them in words. */
export async function readHeads(
  store: RemoteStore,
): Promise<{ readonly lists: readonly StoredHeads[]; readonly problems: readonly string[] }> {
  const lists: StoredHeads[] = [];
  const problems: string[] = [];
  for (const { name } of (await store.list('heads/')) ?? []) {
    const path = `heads/${name}`;
    const [number, sha256] = [numberInName(name), hashInName(name)];
    const bytes = number === null ? null : await store.read(path);
    if (number === null || sha256 === null || !bytes) {
      problems.push(`${path} is no list of heads`);
      continue;
    }
    if (sha256Hex(bytes) !== sha256) problems.push(`${path} was changed: its bytes are not what its name says`);
    const heads = parseRecord(headsSchema, path, bytes);
    lists.push({ number, sha256, heads });
  }
  lists.sort((a, b) => a.number - b.number);
  for (const [i, { number, heads }] of lists.entries()) {
    const before = lists[i - 1];
    if (number !== i + 1 || heads.previous !== (before?.sha256 ?? null)) {
      problems.push(`heads ${number} do not follow those before: a list is missing or was put in`);
    }
  }
  return { lists, problems };
}

/** Writes down the heads of now. Two supervisors may do so at once: the second one then follows the first. */
export async function addHeads(store: RemoteStore, heads: readonly Head[], at: string): Promise<StoredHeads> {
  for (let attempt = 0; attempt < 5; attempt++) {
    const { lists } = await readHeads(store);
    const last = lists.at(-1);
    const record: Heads = { previous: last?.sha256 ?? null, at, heads: [...heads] };
    const { bytes, sha256 } = recordBytes(record);
    const number = (last?.number ?? 0) + 1;
    await store.create(`heads/${String(number).padStart(6, '0')}-${sha256}.json`, bytes);
    const now = (await readHeads(store)).lists.filter(l => l.number === number);
    // Names differ by their hash, so that both may be there; the one that sorts first counts.
    if (now[0]?.sha256 === sha256) return { number, sha256, heads: record };
  }
  throw new RemoteError('busy', 'heads: others wrote at the same time, again and again');
}

/** One line a head, for print. */
export function printedHeads({ number, sha256, heads }: StoredHeads): string {
  const lines = heads.heads.map(
    ({ rater, session, count, head, signedOff }) =>
      `${rater}\t${session}\t${count}\t${head}\t${signedOff ? 'signed off' : 'open'}`,
  );
  return [`heads ${number}\t${heads.at}\t${sha256}`, ...lines].join('\n');
}
