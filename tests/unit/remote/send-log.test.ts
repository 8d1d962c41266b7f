import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { EditLog } from '../../../src/core/marks/log';
import { logLines } from '../../../src/formats/bundle/layout';
import { RemoteError } from '../../../src/remote/remote-error';
import { type SendOptions, type Sent, sendLog } from '../../../src/remote/send-log';
import { signOffLog } from '../../../src/remote/sign-off';
import { readStoredLog } from '../../../src/remote/stored-log';
import { makeStudyFolders } from '../../../src/remote/study';
import { amount } from '../amount';
import { emptyLog, grownBy, hashesOf } from './logs';
import { MemoryStore, unsteady } from './memory-store';

async function studyStore(): Promise<MemoryStore> {
  const store = new MemoryStore();
  await makeStudyFolders(store, ['R1', 'R2']);
  return store;
}

const open: SendOptions = { seen: 0, signedOff: false };
const stored = (store: MemoryStore, rater = 'R1') => readStoredLog(store, rater, 'V01-am');

describe('sending a log', () => {
  test('laid end to end, the chunks are the log as a review file', async () => {
    const store = await studyStore();
    const log = grownBy(emptyLog(), 123);
    expect(await sendLog(store, log, open)).toEqual({ state: 'sent', count: 123 });
    const chunks = [...store.files].filter(([path]) => path.startsWith('logs/R1/V01-am/')).sort();
    expect(chunks.map(([path]) => path.slice(-90, -71))).toHaveLength(3);
    const joined = Buffer.concat(chunks.map(([, bytes]) => bytes));
    expect(Buffer.compare(joined, logLines(log))).toBe(0);
    expect(chunks.map(([path]) => /(\d{8})-(\d{8})-[0-9a-f]{64}\.jsonl$/.exec(path)!.slice(1).map(Number))).toEqual([
      [0, 49],
      [50, 99],
      [100, 122],
    ]);
  });

  test('what is stored is not sent again', async () => {
    const store = await studyStore();
    let log = grownBy(emptyLog(), 10);
    await sendLog(store, log, open);
    const before = [...store.files.keys()];
    await sendLog(store, log, { ...open, seen: 10 });
    expect([...store.files.keys()]).toEqual(before);
    log = grownBy(log, 5);
    await sendLog(store, log, { ...open, seen: 10 });
    expect((await stored(store)).branches.map(hashesOf)).toEqual([hashesOf(log)]);
  });

  test('a machine that is behind is given the longer log', async () => {
    const store = await studyStore();
    const short = grownBy(emptyLog(), 20);
    const long = grownBy(short, 60);
    await sendLog(store, long, open);
    const answer = await sendLog(store, short, open);
    expect(answer.state).toBe('behind');
    expect(hashesOf((answer as Extract<Sent, { state: 'behind' }>).log)).toEqual(hashesOf(long));
    // From an empty log as well, whose header alone is known.
    expect((await sendLog(store, emptyLog(), open)).state).toBe('behind');
  });

  test('a fork is reported to both machines, and both branches are stored', async () => {
    const store = await studyStore();
    const shared = grownBy(emptyLog(), 70);
    const first = grownBy(shared, 30, 'first');
    const second = grownBy(shared, 45, 'second');
    expect((await sendLog(store, first, open)).state).toBe('sent');
    for (const log of [second, first]) {
      const answer = await sendLog(store, log, open);
      expect(answer).toMatchObject({ state: 'fork', sharedEntries: 70 });
      const { branches } = answer as Extract<Sent, { state: 'fork' }>;
      expect(branches.map(hashesOf)).toEqual([hashesOf(second), hashesOf(first)]);
    }
    expect((await stored(store)).problems).toEqual([]);
  });

  test('once a branch is chosen, its machine goes on and the other one shows so', async () => {
    const store = await studyStore();
    const shared = grownBy(emptyLog(), 20);
    let first = grownBy(shared, 3, 'first');
    const second = grownBy(shared, 8, 'second');
    await sendLog(store, first, open);
    await sendLog(store, second, open);
    const chosen = first.entries.at(-1)!.hash;
    first = grownBy(first, 4);
    expect(await sendLog(store, first, { ...open, chosen })).toEqual({ state: 'sent', count: 27 });
    const answer = await sendLog(store, second, { ...open, chosen });
    expect(answer.state).toBe('other branch chosen');
    expect(hashesOf((answer as Extract<Sent, { state: 'other branch chosen' }>).log)).toEqual(hashesOf(first));
    // A third machine that stopped where the branches part takes the chosen one, though it is shorter.
    const third = await sendLog(store, shared, { ...open, chosen });
    expect(hashesOf((third as Extract<Sent, { state: 'behind' }>).log)).toEqual(hashesOf(first));
  });

  test('a log that became shorter in the store is reported before it is sent again', async () => {
    const store = await studyStore();
    const log = grownBy(emptyLog(), 120);
    await sendLog(store, log, open);
    const last = [...store.files.keys()]
      .filter(path => path.startsWith('logs/R1/'))
      .sort()
      .at(-1)!;
    store.files.delete(last);
    expect(await sendLog(store, log, { ...open, seen: 120 })).toEqual({ state: 'shrunk', was: 120, now: 100 });
    expect(store.files.has(last)).toBe(false);
    expect(await sendLog(store, log, { ...open, seen: 120, again: true })).toEqual({ state: 'sent', count: 120 });
    expect(store.files.has(last)).toBe(true);
  });

  test('entries after the sign-off go to their own folder, and the log is read in one piece', async () => {
    const store = await studyStore();
    let log = grownBy(emptyLog(), 12);
    await sendLog(store, log, open);
    await signOffLog(store, log, '2026-02-14T10:00:00Z');
    log = grownBy(log, 5, 'later');
    await sendLog(store, log, { seen: 12, signedOff: true });
    expect([...store.files.keys()].filter(path => path.startsWith('after/R1/V01-am/'))).toHaveLength(1);
    const found = await stored(store);
    expect(found.branches.map(hashesOf)).toEqual([hashesOf(log)]);
    expect(found.signOff).toMatchObject({ count: 12, head: log.entries[11]!.hash });
  });

  test('a sign-off holds once; the same one sent again is the same, another one is reported', async () => {
    const store = await studyStore();
    const log = grownBy(emptyLog(), 3);
    await sendLog(store, log, open);
    expect((await signOffLog(store, log, '2026-02-14T10:00:00Z')).state).toBe('signed off');
    expect((await signOffLog(store, log, '2026-02-14T10:00:05Z')).state).toBe('signed off');
    expect(await signOffLog(store, grownBy(log, 1), '2026-02-14T11:00:00Z')).toMatchObject({
      state: 'signed off elsewhere',
      signOff: { count: 3 },
    });
  });

  test('a chunk that is not what its name says is reported, and what hangs in the air does not count', async () => {
    const store = await studyStore();
    const log = grownBy(emptyLog(), 150);
    await sendLog(store, log, open);
    const [, second] = [...store.files.keys()].filter(path => path.startsWith('logs/R1/')).sort();
    const text = new TextDecoder().decode(store.files.get(second!)!);
    store.files.set(second!, new TextEncoder().encode(text.replace('first machine, 7', 'first machine, 8')));
    const changed = await stored(store);
    expect(changed.branches[0]!.entries.length).toBe(70);
    expect(changed.problems.join()).toContain('entry 70 was changed after it was written');
    store.files.delete(second!);
    const gap = await stored(store);
    expect(gap.branches.map(b => b.entries.length)).toEqual([50]);
    expect(gap.problems.join()).toContain('entry 100');
    expect(gap.problems.join()).toContain('follows nothing that is stored');
  });
});

describe('over a bad connection', () => {
  /** Sends again after each failure, as the page does. */
  async function sendUntilSent(store: MemoryStore, log: EditLog, fates: Iterator<'no' | 'request' | 'answer'>) {
    const poor = unsteady(store, () => fates.next().value ?? 'no');
    for (let i = 0; i < 200; i++) {
      try {
        return await sendLog(poor, log, open);
      } catch (error) {
        expect((error as RemoteError).problem).toBe('offline');
      }
    }
    throw new Error('never sent');
  }

  test('any requests and answers may be lost, nothing else is', async () => {
    const fate = fc.constantFrom('no' as const, 'request' as const, 'answer' as const);
    await fc.assert(
      fc.asyncProperty(fc.array(fate, { maxLength: 60 }), fc.integer({ min: 1, max: 260 }), async (fates, count) => {
        const store = await studyStore();
        const log = grownBy(emptyLog(), count);
        expect(await sendUntilSent(store, log, fates[Symbol.iterator]())).toEqual({ state: 'sent', count });
        const found = await stored(store);
        expect(found.problems).toEqual([]);
        expect(found.branches.map(hashesOf)).toEqual([hashesOf(log)]);
      }),
      { numRuns: amount(60, 5) },
    );
  });

  test('two machines in any turns: every entry of both is stored, whatever is lost on the way', async () => {
    const fate = fc.constantFrom('no' as const, 'no' as const, 'request' as const, 'answer' as const);
    const turn = fc.record({ second: fc.boolean(), grows: fc.integer({ min: 1, max: 70 }) });
    await fc.assert(
      fc.asyncProperty(fc.array(turn, { minLength: 1, maxLength: 6 }), fc.array(fate), async (turns, fates) => {
        const store = await studyStore();
        const iterator = fates[Symbol.iterator]();
        const machines: [EditLog, EditLog] = [emptyLog(), emptyLog()];
        const written = new Set<string>();
        for (const { second, grows } of turns) {
          const i = second ? 1 : 0;
          const log = grownBy(machines[i], grows, `machine ${i}`);
          for (const hash of hashesOf(log)) written.add(hash);
          const answer = await sendUntilSent(store, log, iterator);
          machines[i] = answer.state === 'behind' ? answer.log : log;
          expect(['sent', 'fork', 'behind']).toContain(answer.state);
        }
        const found = await stored(store);
        expect(found.problems).toEqual([]);
        expect(new Set(found.branches.flatMap(hashesOf))).toEqual(written);
      }),
      { numRuns: amount(40, 4) },
    );
  });

  test('an error that is not the connection is handed on', async () => {
    const store = await studyStore();
    const full = { ...unsteady(store, () => 'no'), create: () => Promise.reject(new RemoteError('full', 'PUT 507')) };
    await expect(sendLog(full, grownBy(emptyLog(), 3), open)).rejects.toMatchObject({ problem: 'full' });
  });
});
