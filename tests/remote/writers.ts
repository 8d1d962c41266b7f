import { spawnSync } from 'node:child_process';
import { mkdtempSync, readdirSync, rmSync } from 'node:fs';
import http from 'node:http';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { dataFolder } from '../../src/cli/lab-store/places';
import { RemoteError } from '../../src/remote/remote-error';
import { chunk, type Engine, setUpStudy, startServer, type TestServer, text } from './server';

const hex = (n: number) => n.toString(16).padStart(64, '0');
const name = (i: number) => `${String(i).padStart(8, '0')}-${String(i).padStart(8, '0')}-${hex(i)}.jsonl`;

/** nginx checks each password again, which takes most of the time. */
const roundsOf: Readonly<Record<string, number>> = { Apache: 100, nginx: 25 };

/** What a store holds after writers met, a server was killed and a disk was full: one suite for every engine. */
export function writersSuite(engine: Engine): void {
  describe(`writing with ${engine.name}`, () => {
    let server: TestServer;
    beforeAll(async () => {
      server = await startServer(engine);
      await setUpStudy(server);
      await server.store('R1').folder('logs/R1/V01-am/');
    });
    afterAll(() => server.remove());

    test(`of 16 writers of one name one wins, in ${roundsOf[engine.name]} rounds`, async () => {
      const folder = 'logs/R1/V01-am/';
      const writers = Array.from({ length: 16 }, () => server.store('R1'));
      for (let round = 0; round < roundsOf[engine.name]!; round++) {
        const path = folder + name(round);
        const bodies = writers.map((_, k) => `writer ${k} `.repeat(60));
        const answers = await Promise.all(writers.map((store, k) => store.create(path, text(bodies[k]!))));
        const winners = answers.flatMap((answer, k) => (answer === 'created' ? [k] : []));
        expect([round, winners.length]).toEqual([round, 1]);
        expect(new TextDecoder().decode((await server.store('R1').read(path))!)).toBe(bodies[winners[0]!]);
      }
      expect(await server.store('R1').list(folder)).toHaveLength(roundsOf[engine.name]!);
    });

    test('a slow writer does not replace what another has finished meanwhile', async () => {
      const path = `logs/R1/V01-am/${chunk(900, 901, '9')}`;
      const slow = slowPut(server.base + path, 'R1', 'slow', 'body');
      await slow.begun;
      expect(await server.store('R1').create(path, text('fast'))).toBe('created');
      expect(await slow.finish()).toBe(412);
      expect(new TextDecoder().decode((await server.store('R1').read(path))!)).toBe('fast');
    });

    test('a body that breaks off leaves nothing', async () => {
      const path = `logs/R1/V01-am/${chunk(902, 903, '9')}`;
      const slow = slowPut(server.base + path, 'R1', 'half', ' a body');
      await slow.begun;
      slow.cut();
      expect(await server.store('R1').create(path, text('whole'))).toBe('created');
      expect(new TextDecoder().decode((await server.store('R1').read(path))!)).toBe('whole');
    });

    test('a server killed while writing: all that it said was created is there in full, the rest can be sent again', async () => {
      const body = (i: number) => `${i} `.repeat(5000);
      const store = server.store('boss');
      const told: number[] = [];
      const writing = Array.from({ length: 8 }, async (_, k) => {
        for (let i = k; i < 200; i += 8) {
          try {
            await store.create(`sessions/V01-am/${hex(i)}.part`, text(body(i)));
            told.push(i);
          } catch (error) {
            expect(error).toBeInstanceOf(RemoteError);
            expect(['offline', 'busy']).toContain((error as RemoteError).problem);
          }
        }
      });
      await expect.poll(() => told.length, { interval: 5, timeout: 100_000 }).toBeGreaterThan(10);
      await server.stop('SIGKILL');
      await Promise.all(writing);
      expect(told.length).toBeLessThan(200);
      await server.start();
      for (const i of told) {
        expect(new TextDecoder().decode((await store.read(`sessions/V01-am/${hex(i)}.part`))!)).toBe(body(i));
      }
      // What the listing names is whole, whether the answer arrived or not; what is missing is sent again.
      for (let i = 0; i < 200; i++) await store.create(`sessions/V01-am/${hex(i)}.part`, text(body(i)));
      for (let i = 0; i < 200; i++) {
        const found = new TextDecoder().decode((await store.read(`sessions/V01-am/${hex(i)}.part`))!);
        expect([i, found === body(i)]).toEqual([i, true]);
      }
    });
  });

  describe.runIf(canMount())(`a full disk with ${engine.name}`, () => {
    test('is reported as full; what was stored stays, and writing goes on when there is room', async () => {
      const root = mkdtempSync(join(tmpdir(), 'beat-ledger-small-'));
      expect(spawnSync('mount', ['-t', 'tmpfs', '-o', 'size=8m', 'tmpfs', root]).status).toBe(0);
      const server = await startServer(engine, root);
      try {
        await setUpStudy(server);
        const store = server.store('boss');
        const part = (i: number) => text(String.fromCharCode(97 + i).repeat(2 ** 20));
        let problem = '';
        let stored = 0;
        for (let i = 0; i < 20 && problem === ''; i++) {
          try {
            expect(await store.create(`sessions/V01-am/${hex(i)}.part`, part(i))).toBe('created');
            stored++;
          } catch (error) {
            problem = (error as RemoteError).problem;
          }
        }
        expect(problem).toBe('full');
        expect(stored).toBeGreaterThan(3);
        expect(await store.read(`sessions/V01-am/${hex(stored)}.part`)).toBeNull();
        for (let i = 0; i < stored; i++) {
          const found = (await store.read(`sessions/V01-am/${hex(i)}.part`))!;
          expect([i, Buffer.compare(found, part(i))]).toEqual([i, 0]);
        }
        const leftOvers = readdirSync(join(dataFolder(root), 'trial-1/sessions/V01-am')).filter(
          n => !n.endsWith('.part'),
        );
        expect(leftOvers.filter(n => !n.startsWith('.'))).toEqual([]);
        expect(spawnSync('mount', ['-o', 'remount,size=32m', root]).status).toBe(0);
        expect(await store.create(`sessions/V01-am/${hex(stored)}.part`, part(stored))).toBe('created');
      } finally {
        await server.stop();
        spawnSync('umount', [root]);
        rmSync(root, { recursive: true, force: true });
      }
    });
  });
}

/** A small file system can be mounted by root, where the machine allows it. */
function canMount(): boolean {
  if (process.getuid?.() !== 0) return false;
  const folder = mkdtempSync(join(tmpdir(), 'beat-ledger-mount-'));
  const mounted = spawnSync('mount', ['-t', 'tmpfs', '-o', 'size=1m', 'tmpfs', folder]).status === 0;
  if (mounted) spawnSync('umount', [folder]);
  rmSync(folder, { recursive: true, force: true });
  if (!mounted) console.log('No small file system can be mounted here: the full disk is not tried.');
  return mounted;
}

/** Sends headers and the first part of a body, the rest when asked to. */
function slowPut(address: string, user: string, first: string, rest: string) {
  const headers = {
    authorization: `Basic ${btoa(`${user}:pw-${user}`)}`,
    'if-none-match': '*',
    'content-length': first.length + rest.length,
  };
  const request = http.request(address, { method: 'PUT', headers });
  const status = new Promise<number>((resolve, reject) => {
    request.on('response', response => {
      response.resume();
      resolve(response.statusCode!);
    });
    request.on('error', reject);
  });
  status.catch(() => undefined);
  const begun = new Promise<void>(resolve => request.write(first, () => setTimeout(resolve, 300)));
  return {
    begun,
    finish() {
      request.end(rest);
      return status;
    },
    cut: () => request.destroy(),
  };
}
