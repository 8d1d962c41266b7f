import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { dataFolder } from '../../src/cli/lab-store/places';
import { writeBundle } from '../../src/formats/bundle/writer';
import { bytesSource } from '../../src/formats/bytes/source';
import { atOnce } from '../../src/remote/at-once';
import type { Assignment } from '../../src/remote/records';
import type { RemoteStore } from '../../src/remote/remote-store';
import { sendLog } from '../../src/remote/send-log';
import { sendSession } from '../../src/remote/session-parts';
import { signOffLog } from '../../src/remote/sign-off';
import { assign, makeStudyFolders } from '../../src/remote/study';
import { listStudy } from '../../src/remote/study-listing';
import { newBoardMemory, readBoard } from '../../src/state/sharing/board';
import { nothingStored } from '../../src/state/sharing/board-line';
import { madeSession } from '../unit/formats/bundle/reviewed';
import { emptyLog, grownBy } from '../unit/remote/logs';
import { apache, type Engine, nginx, startServer, type TestServer } from './server';

const at = '2026-02-14T10:00:00Z';
const nobody = { sessions: async () => [], session: async () => null };
/** RATERS=300 npm run remote -- board looks at as large a study as the bench does. */
const raters = Array.from({ length: Number(process.env['RATERS'] ?? 60) }, (_, i) => `P${i}`);
const sessions = Array.from({ length: 100 }, (_, i) => `V${i}-am`);

describe('the board of a large study', () => {
  let server: TestServer;
  beforeAll(async () => {
    server = await startServer(apache);
    await makeStudyFolders(server.store('boss'), ['P0']);
  });
  afterAll(() => server.remove());

  test('many raters with 100 sessions each: a look at what stands asks for listings alone', async () => {
    const memory = newBoardMemory();
    const data = join(dataFolder(server.places.root), 'trial-1');
    for (const rater of raters) {
      for (const folder of ['assign', 'done', 'after']) mkdirSync(join(data, folder, rater), { recursive: true });
      for (const session of sessions) {
        const path = `assign/${rater}/${session}.json`;
        writeFileSync(join(data, path), '');
        mkdirSync(join(data, 'logs', rater, session), { recursive: true });
        // As read before; the first look at so many is no part of this.
        const assignment: Assignment = { session, manifest: '0'.repeat(64), place: 'first', due: null, assignedAt: at };
        memory.assignments.set(path, assignment);
        memory.titles.set(session, session);
      }
    }
    const boss = server.store('boss');
    let requests = 0;
    const counted: RemoteStore = {
      ...boss,
      list: path => {
        requests++;
        return boss.list(path);
      },
    };
    const look = async () => {
      requests = 0;
      const before = process.cpuUsage();
      const begin = performance.now();
      const lines = await readBoard(nobody, { remote: counted }, memory);
      const ms = Math.round(performance.now() - begin);
      const { user, system } = process.cpuUsage(before);
      return { lines, ms, cpuMs: Math.round((user + system) / 1000), requests };
    };
    // A folder that has just been made has no tag that could be relied on.
    await new Promise(done => setTimeout(done, 3000));
    // As a first look leaves it, which asks for each folder.
    const listing = await listStudy(boss, memory.folders);
    for (const { rater, session, path } of listing.assignments) {
      const listed = listing.logOf(rater, session);
      const assignment = memory.assignments.get(path)!;
      memory.known.set(path, {
        path,
        rater,
        assignment,
        listed,
        state: `${listed.tag} not kept`,
        summary: nothingStored,
      });
    }
    const second = await look();
    expect(second.lines).toHaveLength(100 * raters.length);
    expect(second.requests).toBe(6 + raters.length);
    // The bare listings, six at a time, for a ratio that holds on a busy machine.
    const begin = performance.now();
    await atOnce(raters, rater => boss.list(`logs/${rater}/`));
    const bareMs = Math.round(performance.now() - begin);
    console.log(
      `${raters.length} raters x 100 sessions: a look at what stands in ${second.ms} ms (${second.cpuMs} ms of this process), bare listings in ${bareMs} ms`,
    );
    // One entry more is seen, for one request more.
    const log = grownBy(emptyLog('P7', 'V3-am'), 3);
    const chunk = `00000000-00000002-${log.entries[2]!.hash}.jsonl`;
    writeFileSync(join(data, 'logs/P7/V3-am', chunk), '');
    const third = await look();
    expect(third.requests).toBe(6 + raters.length + 1);
    expect(third.lines.find(l => l.rater === 'P7' && l.session === 'V3-am')!.problems).toHaveLength(1);
  });
});

/** What the board shows on a real server, whose tags and times are its own. */
function boardSuite(engine: Engine): void {
  describe(`the board with ${engine.name}`, () => {
    let server: TestServer;
    beforeAll(async () => {
      server = await startServer(engine);
    });
    afterAll(() => server.remove());

    test('sees each change, also within one second of the one before', async () => {
      const boss = server.store('boss');
      await makeStudyFolders(boss, ['R1', 'R2']);
      const { reviewed, leads } = madeSession([], 60);
      const { session } = reviewed;
      const source = bytesSource('s.zip', writeBundle(reviewed, leads, { level: 0 }));
      const manifest = await sendSession(boss, session, source);
      const given = { session: session.id, manifest, due: null, assignedAt: at };
      await assign(boss, 'R1', { ...given, place: 'first' });
      const memory = newBoardMemory();
      const kept = { sessions: async () => [], session: async () => session };
      const board = async () => {
        const lines = await readBoard(kept, { remote: boss }, memory);
        return lines.map(
          l => `${l.rater} ${l.branches[0]?.entries ?? 0}${l.signedOffAt === null ? '' : ' signed off'}`,
        );
      };
      expect(await board()).toEqual(['R1 0']);
      await assign(boss, 'R2', { ...given, place: 'second' });
      expect(await board()).toEqual(['R1 0', 'R2 0']);
      const store = server.store('R1');
      let log = emptyLog('R1', session.id);
      for (let i = 0; i < 5; i++) {
        const seen = log.entries.length;
        log = grownBy(log, 10, `time ${i}`);
        await sendLog(store, log, { seen, signedOff: false });
        expect(await board()).toEqual([`R1 ${10 * (i + 1)}`, 'R2 0']);
      }
      await signOffLog(store, log, at);
      expect(await board()).toEqual(['R1 50 signed off', 'R2 0']);
    });
  });
}

boardSuite(apache);
boardSuite(nginx);
