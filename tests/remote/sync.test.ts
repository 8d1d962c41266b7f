import { spawnSync } from 'node:child_process';
import { mkdirSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { dataFolder } from '../../src/cli/lab-store/places';
import type { EditLog } from '../../src/core/marks/log';
import { readBundle } from '../../src/formats/bundle/reader';
import { writeBundle } from '../../src/formats/bundle/writer';
import { type ByteSource, bytesSource } from '../../src/formats/bytes/source';
import { addHeads } from '../../src/remote/heads';
import type { RemoteError } from '../../src/remote/remote-error';
import type { RemoteStore } from '../../src/remote/remote-store';
import { sendLog } from '../../src/remote/send-log';
import { listManifests, readManifest, sendSession } from '../../src/remote/session-parts';
import { listSignedOff, signOffLog } from '../../src/remote/sign-off';
import { keepsNothing, storedBundle } from '../../src/remote/stored-bundle';
import { readStoredLog } from '../../src/remote/stored-log';
import { assign, makeStudyFolders, readAssignments } from '../../src/remote/study';
import { madeSession } from '../unit/formats/bundle/reviewed';
import { emptyLog, grownBy, hashesOf } from '../unit/remote/logs';
import { apache, startServer, type TestServer } from './server';

const session = 'V01-training-day';
const at = '2026-02-14T10:00:00Z';
/** ENTRIES=10000 npm run remote -- sync sends as many as the review of a long day has. */
const entryCount = Number(process.env['ENTRIES'] ?? 4000);
/** STORE_MB=500 npm run remote -- sync sends as much as a recording of some days has. */
const megabytes = Number(process.env['STORE_MB'] ?? 40);

describe('logs and sessions on a real server', () => {
  let server: TestServer;
  let boss: RemoteStore;
  let manifest = '';
  const seen = { seen: 0, signedOff: false };

  beforeAll(async () => {
    server = await startServer(apache);
    boss = server.store('boss');
    await makeStudyFolders(boss, ['R1', 'R2', 'R3', 'A1']);
    const made = madeSession([], 600);
    const bytes = writeBundle(made.reviewed, made.leads, { level: 0 });
    manifest = await sendSession(boss, made.reviewed.session, bytesSource('s.zip', bytes));
    const common = { session, manifest, due: '2026-03-01', assignedAt: at };
    await assign(boss, 'R1', { ...common, place: 'first' });
    await assign(boss, 'R2', { ...common, place: 'second' });
    await assign(boss, 'R3', { ...common, place: 'second' });
    await assign(boss, 'A1', { ...common, place: 'settles' });
  });
  afterAll(() => server.remove());

  /** Tries until it is done, as the page does when it is online again. */
  async function untilSent(store: RemoteStore, log: EditLog) {
    for (let i = 0; i < 100; i++) {
      try {
        return await sendLog(store, log, seen);
      } catch (error) {
        expect(['offline', 'busy']).toContain((error as RemoteError).problem);
        await new Promise(done => setTimeout(done, 100));
      }
    }
    throw new Error('never sent');
  }

  test('a rater finds what is assigned, and opens the session from ranges of its parts', async () => {
    const store = server.store('R1');
    const assigned = await readAssignments(store, 'R1');
    expect(assigned).toMatchObject([{ session, place: 'first', due: '2026-03-01' }]);
    const source = storedBundle(store, await readManifest(store, session, assigned[0]!.manifest), keepsNothing);
    const { reviewed } = await readBundle(source);
    expect(reviewed.session).toEqual(madeSession([], 600).reviewed.session);
    expect(reviewed.logs).toEqual([]);
  });

  test('thousands of entries, the server killed while they are sent: nothing is lost', async () => {
    const log = grownBy(emptyLog('R1', session), entryCount);
    const sending = untilSent(server.store('R1'), log);
    const folder = join(dataFolder(server.places.root), `trial-1/logs/R1/${session}`);
    const chunks = () => {
      try {
        return readdirSync(folder).length;
      } catch {
        return 0;
      }
    };
    await expect.poll(chunks, { interval: 5, timeout: 100_000 }).toBeGreaterThan(10);
    await server.stop('SIGKILL');
    expect(chunks()).toBeLessThan(entryCount / 50);
    await server.start();
    expect(await sending).toEqual({ state: 'sent', count: entryCount });
    const found = await readStoredLog(boss, 'R1', session);
    expect(found.problems).toEqual([]);
    expect(found.branches.map(hashesOf)).toEqual([hashesOf(log)]);
  });

  test('a sign-off opens the log to the other rater who has signed off, and to nobody before', async () => {
    const log = (await readStoredLog(boss, 'R1', session)).branches[0]!;
    const [r1, r2] = [server.store('R1'), server.store('R2')];
    const own = grownBy(emptyLog('R2', session), 70);
    expect(await sendLog(r2, own, seen)).toEqual({ state: 'sent', count: 70 });
    expect((await signOffLog(r1, log, at)).state).toBe('signed off');
    await expect(readStoredLog(r2, 'R1', session)).rejects.toMatchObject({ problem: 'refused' });
    expect(hashesOf((await readStoredLog(r1, 'R2', session)).branches[0]!)).toEqual(hashesOf(own));
    await signOffLog(r2, own, at);
    expect((await readStoredLog(r2, 'R1', session)).signOff).toMatchObject({ count: entryCount });
    expect(await listSignedOff(boss, 'R2')).toEqual([session]);
    // What comes later is kept apart.
    const later = grownBy(own, 4, 'after seeing the other');
    await expect(sendLog(r2, later, seen)).rejects.toMatchObject({ problem: 'refused' });
    expect(await sendLog(r2, later, { seen: 70, signedOff: true })).toEqual({ state: 'sent', count: 74 });
    expect(await readStoredLog(boss, 'R2', session)).toMatchObject({ signOff: { count: 70 }, problems: [] });
  });

  test('who signs off an empty log to read the others is seen to have done so', async () => {
    const r3 = server.store('R3');
    await expect(readStoredLog(r3, 'R1', session)).rejects.toMatchObject({ problem: 'refused' });
    await signOffLog(r3, emptyLog('R3', session), at);
    expect((await readStoredLog(r3, 'R1', session)).branches).toHaveLength(1);
    expect(await readStoredLog(boss, 'R3', session)).toMatchObject({ branches: [], signOff: { count: 0 } });
    expect((await sendLog(r3, grownBy(emptyLog('R3', session), 5), { seen: 0, signedOff: true })).state).toBe('sent');
    expect((await readStoredLog(boss, 'R3', session)).signOff!.count).toBe(0);
  });

  test('two machines of a settler part: the fork is reported to both', async () => {
    const store = server.store('A1');
    const shared = grownBy(emptyLog('A1', session), 20);
    await sendLog(store, shared, seen);
    const [one, two] = [grownBy(shared, 60, 'office'), grownBy(shared, 10, 'at home')];
    const answers = [await sendLog(store, one, seen), await sendLog(store, two, seen), await sendLog(store, one, seen)];
    expect(answers.map(a => a.state)).toEqual(['sent', 'fork', 'fork']);
    expect((await readStoredLog(boss, 'A1', session)).branches.map(hashesOf)).toEqual([hashesOf(one), hashesOf(two)]);
  });

  test(`${megabytes} MB torn by a killed server go on where they stopped`, async () => {
    const bundle = madeUp(megabytes * 2 ** 20);
    const folder = join(dataFolder(server.places.root), 'trial-1/sessions/V02-am');
    const sending = sendSession(boss, { id: 'V02-am', title: 'long' }, bundle).catch(
      (error: RemoteError) => error.problem,
    );
    const parts = () => {
      try {
        return readdirSync(folder).length;
      } catch {
        return 0;
      }
    };
    await expect.poll(parts, { interval: 5, timeout: 100_000 }).toBeGreaterThan(megabytes / 16);
    await server.stop('SIGKILL');
    expect(['offline', 'busy']).toContain(await sending);
    await server.start();
    expect(await listManifests(boss, 'V02-am')).toEqual([]);
    const there = parts();
    let sent = 0;
    const counted = {
      ...boss,
      create: (path: string, bytes: Uint8Array) => {
        sent++;
        return boss.create(path, bytes);
      },
    };
    const begin = performance.now();
    const hash = await sendSession(counted, { id: 'V02-am', title: 'long' }, bundle);
    console.log(`${megabytes} MB, ${there} parts there: the rest in ${Math.round(performance.now() - begin)} ms`);
    const total = Math.ceil(bundle.size / (4 * 2 ** 20));
    expect(sent).toBeLessThanOrEqual(total - Math.floor(megabytes / 16) + 1);
    const stored = storedBundle(boss, await readManifest(boss, 'V02-am', hash), keepsNothing);
    expect(stored.size).toBe(bundle.size);
    for (const start of [0, bundle.size / 2 + 7, bundle.size - 1000]) {
      const [a, b] = [await stored.read(start, start + 900), await bundle.read(start, start + 900)];
      expect(Buffer.compare(a, b)).toBe(0);
    }
    rmSync(folder, { recursive: true });
  });

  test('the audit of the server and of its folder agree, and find a tail that was cut off', async () => {
    // The settler's fork would be a finding.
    rmSync(join(dataFolder(server.places.root), `trial-1/logs/A1/${session}`), { recursive: true, force: true });
    const log = (await readStoredLog(boss, 'R1', session)).branches[0]!;
    const head = { rater: 'R1', session, count: entryCount, head: log.entries.at(-1)!.hash, signedOff: true };
    await addHeads(boss, [head], at);
    mkdirSync(join(server.places.root, 'etc'), { recursive: true });
    const passwordFile = join(server.places.root, 'etc/audit-password');
    writeFileSync(passwordFile, 'pw-audit\n');
    const folder = join(dataFolder(server.places.root), 'trial-1');
    const audit = (...args: string[]) => {
      const run = spawnSync('node_modules/.bin/tsx', ['src/cli/main.ts', 'audit', ...args], { encoding: 'utf8' });
      return { status: run.status, text: run.stdout };
    };
    const overHttp = audit(server.base, '--user', 'audit', '--password-file', passwordFile);
    expect(overHttp.text).toContain('Sound: 1 session in');
    expect(overHttp.status).toBe(0);
    expect(audit(folder)).toEqual(overHttp);
    expect(audit(folder, '--heads').text).toContain(`R1\t${session}\t${entryCount}\t${head.head}\tsigned off`);
    const chunks = readdirSync(join(folder, `logs/R1/${session}`)).sort();
    rmSync(join(folder, `logs/R1/${session}`, chunks.at(-1)!));
    const cut = audit(folder);
    expect(cut.status).toBe(1);
    expect(cut.text).toContain(`saw ${entryCount} entries`);
  });
});

/** Bytes that do not repeat from part to part, without being held: pages of 4096, alike but for their number. */
function madeUp(size: number): ByteSource {
  const page = Uint8Array.from({ length: 4096 }, (_, i) => (i * 2654435761) >>> 13);
  return {
    name: 'long.zip',
    size,
    async read(start, end) {
      const [first, last] = [Math.floor(start / 4096), Math.ceil(Math.min(end, size) / 4096)];
      const bytes = new Uint8Array(4096 * Math.max(0, last - first));
      const view = new DataView(bytes.buffer);
      for (let n = first; n < last; n++) {
        bytes.set(page, 4096 * (n - first));
        view.setUint32(4096 * (n - first), n);
      }
      return bytes.subarray(start - 4096 * first, Math.max(start, Math.min(end, size)) - 4096 * first);
    },
  };
}
