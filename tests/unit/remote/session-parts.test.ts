import { describe, expect, test } from 'vitest';
import { readBundle } from '../../../src/formats/bundle/reader';
import { writeBundle } from '../../../src/formats/bundle/writer';
import { bytesSource } from '../../../src/formats/bytes/source';
import { auditStore } from '../../../src/remote/audit';
import { addHeads } from '../../../src/remote/heads';
import type { StudyRevision } from '../../../src/remote/records';
import { RemoteError } from '../../../src/remote/remote-error';
import { sendLog } from '../../../src/remote/send-log';
import { listManifests, readManifest, sendSession } from '../../../src/remote/session-parts';
import { signOffLog } from '../../../src/remote/sign-off';
import { type KeptParts, saveParts, storedBundle } from '../../../src/remote/stored-bundle';
import { makeStudyFolders, readStudyRevision, reviseStudy } from '../../../src/remote/study';
import { madeSession } from '../formats/bundle/reviewed';
import { emptyLog, grownBy } from './logs';
import { MemoryStore } from './memory-store';

class KeptInMemory implements KeptParts {
  readonly parts = new Map<string, Uint8Array>();
  async has(sha256: string) {
    return this.parts.has(sha256);
  }
  async read(sha256: string, start: number, end: number) {
    return this.parts.get(sha256)?.subarray(start, end) ?? null;
  }
  async put(sha256: string, bytes: Uint8Array) {
    this.parts.set(sha256, bytes);
  }
}

const studyOf = (id: string): StudyRevision => ({
  format: 'beat-ledger study in a store',
  formatVersion: 1,
  id,
  title: id,
  protocol: '',
  settings: { onPeakToleranceMs: 50, wrongPeakWindowMs: 400 },
  draws: [],
  branches: [],
});

/** A long session, stored without compression: 4 leads of an hour, some 7 MB. */
function longBundle() {
  const made = madeSession([], 3600);
  const bytes = writeBundle(made.reviewed, made.leads, { level: 0 });
  return { made, bytes, session: made.reviewed.session };
}

async function studyStore(): Promise<MemoryStore> {
  const store = new MemoryStore();
  await makeStudyFolders(store, ['R1', 'R2']);
  return store;
}

describe('a session in parts', () => {
  test('comes back byte for byte, from ranges and from kept parts', async () => {
    const store = await studyStore();
    const { bytes, session, made } = longBundle();
    const hash = await sendSession(store, session, bytesSource('s.zip', bytes));
    const manifest = await readManifest(store, session.id, hash);
    expect(manifest.parts.length).toBe(Math.ceil(bytes.length / (4 * 2 ** 20)));
    const kept = new KeptInMemory();
    const source = storedBundle(store, manifest, kept);
    for (const [start, end] of [
      [0, 10],
      [4 * 2 ** 20 - 5, 4 * 2 ** 20 + 5],
      [100, 6 * 2 ** 20],
      [bytes.length - 22, bytes.length],
      [bytes.length - 5, bytes.length + 50],
      [7, 7],
    ] as const) {
      const found = await source.read(start, end);
      expect([start, Buffer.compare(found, bytes.subarray(start, end))]).toEqual([start, 0]);
    }
    const opened = await readBundle(source);
    expect(opened.reviewed.session).toEqual(made.reviewed.session);
    await saveParts(store, manifest, kept);
    store.files.clear();
    expect(Buffer.compare(await source.read(0, bytes.length), bytes)).toBe(0);
  });

  test('opening and showing a strip fetch a small part of a long recording', async () => {
    const store = await studyStore();
    const { bytes, session } = longBundle();
    const manifest = await readManifest(
      store,
      session.id,
      await sendSession(store, session, bytesSource('s.zip', bytes)),
    );
    let fetched = 0;
    const counted = {
      ...unbound(store),
      read: async (path: string, range?: { start: number; end: number }) => {
        const found = await store.read(path, range);
        fetched += found?.length ?? 0;
        return found;
      },
    };
    await readBundle(storedBundle(counted, manifest, new KeptInMemory()));
    // 20 Mbit/s for 2 s are 5 MB.
    expect(fetched).toBeLessThan(2 * 2 ** 20);
  });

  test('a sending that broke off is no session yet, and goes on where it stopped', async () => {
    const store = await studyStore();
    const { bytes, session } = longBundle();
    let left = 2;
    let sent = 0;
    const broken = {
      ...unbound(store),
      create: async (path: string, body: Uint8Array) => {
        if (left-- === 0) throw new RemoteError('offline', 'cut');
        sent += body.length;
        return store.create(path, body);
      },
    };
    await expect(sendSession(broken, session, bytesSource('s.zip', bytes))).rejects.toThrow('cut');
    expect(await listManifests(store, session.id)).toEqual([]);
    left = Number.POSITIVE_INFINITY;
    await sendSession(broken, session, bytesSource('s.zip', bytes));
    expect(await listManifests(store, session.id)).toHaveLength(1);
    // Nothing twice: the parts, and the manifest.
    const manifest = [...store.files].find(([path]) => path.includes('manifest-'))![1];
    expect(sent).toBe(bytes.length + manifest.length);
  });

  test('a part that is not what its name says is not kept', async () => {
    const store = await studyStore();
    const { bytes, session } = longBundle();
    const manifest = await readManifest(
      store,
      session.id,
      await sendSession(store, session, bytesSource('s.zip', bytes)),
    );
    const path = `sessions/${session.id}/${manifest.parts[1]!.sha256}.part`;
    store.files.get(path)![5]! ^= 1;
    const kept = new KeptInMemory();
    await expect(saveParts(store, manifest, kept)).rejects.toMatchObject({ problem: 'unexpected' });
    expect(kept.parts.size).toBe(1);
  });
});

describe('the audit of a store', () => {
  async function auditedStore() {
    const store = await studyStore();
    const made = madeSession([], 60);
    const bytes = writeBundle(made.reviewed, made.leads, { level: 0 });
    await sendSession(store, made.reviewed.session, bytesSource('s.zip', bytes));
    const log = grownBy(emptyLog('R1', made.reviewed.session.id), 120);
    await sendLog(store, log, { seen: 0, signedOff: false });
    await signOffLog(store, log, '2026-02-14T10:00:00Z');
    const head = {
      rater: 'R1',
      session: made.reviewed.session.id,
      count: 120,
      head: log.entries.at(-1)!.hash,
      signedOff: true,
    };
    await addHeads(store, [head], '2026-02-14T10:01:00Z');
    return store;
  }

  test('finds nothing in a sound one', async () => {
    expect(await auditStore(await auditedStore())).toEqual({
      problems: [],
      sessions: 1,
      parts: 1,
      logs: 1,
      entries: 120,
      signOffs: 1,
      headLists: 1,
    });
  });

  test('a fork is a finding until a supervisor has chosen, and so is a sign-off of what does not count', async () => {
    const store = await auditedStore();
    const session = madeSession([], 60).reviewed.session.id;
    const log = grownBy(emptyLog('R2', session), 120);
    const other = grownBy({ ...log, entries: log.entries.slice(0, 60) }, 30, 'second machine');
    for (const branch of [log, other]) await sendLog(store, branch, { seen: 0, signedOff: false });
    await signOffLog(store, log, '2026-02-14T10:00:00Z');
    const problems = async () => (await auditStore(store)).problems;
    expect(await problems()).toEqual([`log of R2, ${session}: it is forked into 2 branches`]);
    const choose = async (head: string) => {
      const found = await readStudyRevision(store);
      const branches = [{ rater: 'R2', session, head, at: '2026-02-14T11:00:00Z' }];
      const revision = { ...studyOf('trial-1'), branches };
      expect(await reviseStudy(store, revision, found?.number ?? 0)).toBe('revised');
    };
    await choose(log.entries.at(-1)!.hash);
    expect(await problems()).toEqual([]);
    await choose(other.entries.at(-1)!.hash);
    expect(await problems()).toEqual([`log of R2, ${session}: what was signed off is not on the branch that counts`]);
  });

  const pathOf = (store: MemoryStore, pattern: RegExp) =>
    [...store.files.keys()]
      .sort()
      .filter(p => pattern.test(p))
      .at(-1)!;
  const change = (store: MemoryStore, path: string) => {
    // A quotation mark or a digit of a hash; of a part, any byte.
    store.files.get(path)![path.startsWith('done/') ? 1 : 10]! ^= 1;
  };
  const otherHead = (store: MemoryStore, path: string) => {
    const text = new TextDecoder().decode(store.files.get(path)!);
    store.files.set(path, new TextEncoder().encode(text.replace(/"head":"[0-9a-f]{4}/, '"head":"0000')));
  };

  test.each([
    ['a changed part', /\.part$/, change, 'is not what its name says'],
    ['a missing part', /\.part$/, (s: MemoryStore, p: string) => s.files.delete(p), 'parts are missing'],
    ['a missing manifest', /manifest-/, (s: MemoryStore, p: string) => s.files.delete(p), 'has no manifest'],
    ['a changed manifest', /manifest-/, change, 'not what its name says'],
    ['a tail cut off', /^logs\/.*\.jsonl$/, (s: MemoryStore, p: string) => s.files.delete(p), 'which are gone'],
    ['a changed entry', /^logs\/.*\.jsonl$/, change, 'was changed after it was written'],
    ['a sign-off of another log', /^done\//, otherHead, 'that were signed off'],
    ['a sign-off that is none', /^done\//, change, 'done/R1/'],
    ['changed heads', /^heads\//, change, 'heads/'],
  ] as const)('finds %s', async (_, pattern, act, words) => {
    const store = await auditedStore();
    act(store, pathOf(store, pattern));
    expect((await auditStore(store)).problems.join('\n')).toContain(words);
  });
});

/** The methods of a class as an object that can be spread. */
function unbound(store: MemoryStore) {
  return {
    create: (path: string, bytes: Uint8Array) => store.create(path, bytes),
    folder: (path: string) => store.folder(path),
    list: (path: string) => store.list(path),
    read: (path: string, range?: { start: number; end: number }) => store.read(path, range),
  };
}
