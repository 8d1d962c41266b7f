import { chmodSync, mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { engineNamed } from '../../src/cli/lab-store/engine';
import { type Role, setPerson } from '../../src/cli/lab-store/people';
import { runningProcess, type ServerEngine, type StorePlaces, stopProcess } from '../../src/cli/lab-store/places';
import { indexStore } from '../../src/remote/index-store';
import type { Account, RemoteStore } from '../../src/remote/remote-store';
import { webdavStore } from '../../src/remote/webdav-store';

/** A server of the tests, with the shipped configuration and invented people. */
export interface TestServer {
  readonly name: string;
  readonly places: StorePlaces;
  /** Of the study 'trial-1'. */
  readonly base: string;
  store(user: string, password?: string): RemoteStore;
  setPassword(user: string, password: string): void;
  start(): Promise<void>;
  stop(signal?: 'SIGTERM' | 'SIGKILL'): Promise<void>;
  remove(): Promise<void>;
}

export interface Engine {
  readonly name: string;
  readonly server: ServerEngine;
  open(base: string, account: Account): RemoteStore;
}

export const apache: Engine = {
  name: 'Apache',
  server: engineNamed('apache'),
  open: (base, account) => webdavStore({ base, account }),
};

export const nginx: Engine = {
  name: 'nginx',
  server: engineNamed('nginx'),
  open: (base, account) => indexStore({ base, account }),
};

/** R1, R2, R3 rate, A1 settles, boss supervises, audit reads. A password is 'pw-' and the code. */
const people: Readonly<Record<string, Role>> = {
  R1: 'annotator',
  R2: 'annotator',
  R3: 'annotator',
  A1: 'settler',
  boss: 'supervisor',
  audit: 'auditor',
};

/**
 * Starts an engine in a folder of its own; `root` is one that exists, such as a small file system, `page` the built page in
 * place of a small one.
 */
export async function startServer(engine: Engine, root?: string, page?: string): Promise<TestServer> {
  const own = root ?? mkdtempSync(join(tmpdir(), 'beat-ledger-store-'));
  // The server runs as an account of its own.
  chmodSync(own, 0o711);
  const dist = page ?? join(own, 'dist');
  mkdirSync(dist, { recursive: true });
  mkdirSync(join(own, 'etc'), { recursive: true });
  if (page === undefined) writeFileSync(join(dist, 'index.html'), '<!doctype html><title>The page</title>');
  for (const [code, role] of Object.entries(people)) setPerson(own, code, role, `pw-${code}`);
  const places = { root: own, dist, port: await freePorts() };
  const base = `http://127.0.0.1:${places.port}/study/trial-1/`;
  await engine.server.start(places);
  const stop = async (signal?: 'SIGTERM' | 'SIGKILL') => {
    const pid = runningProcess(engine.server.pidFile(own));
    if (pid !== null) await stopProcess(pid, signal);
  };
  return {
    name: engine.name,
    places,
    base,
    store: (user, password = `pw-${user}`) => engine.open(base, { user, password }),
    setPassword(user, password) {
      setPerson(own, user, people[user]!, password);
      engine.server.reload(places);
    },
    start: () => engine.server.start(places),
    stop,
    async remove() {
      await stop();
      if (root === undefined) rmSync(own, { recursive: true, force: true });
    },
  };
}

/** Test files run side by side: each looks among ports of its own. */
const worker = Number(process.env['VITEST_POOL_ID'] ?? process.env['TEST_PARALLEL_INDEX'] ?? 0);

/** The first of three that are free and follow each other. */
async function freePorts(): Promise<number> {
  for (let i = 0; i < 50; i++) {
    const port = 20_000 + 2000 * (worker % 5) + Math.floor(Math.random() * 1997);
    const free = await Promise.all([port, port + 1, port + 2].map(isFree));
    if (free.every(Boolean)) return port;
  }
  throw new Error('no three free ports in a row');
}

function isFree(port: number): Promise<boolean> {
  return new Promise(resolve => {
    const server = createServer();
    server.once('error', () => resolve(false));
    server.listen(port, '127.0.0.1', () => server.close(() => resolve(true)));
  });
}

/** What a supervisor sets up: the seven folders, those of each rater, V01-am for R1 and R2, both settled by A1. */
export async function setUpStudy(server: TestServer): Promise<void> {
  const boss = server.store('boss');
  await boss.folder('');
  for (const name of ['study', 'sessions', 'assign', 'settle', 'logs', 'done', 'after', 'heads'])
    await boss.folder(`${name}/`);
  for (const rater of ['R1', 'R2', 'R3', 'A1']) {
    for (const name of ['assign', 'settle', 'logs', 'done', 'after']) await boss.folder(`${name}/${rater}/`);
  }
  for (const session of ['V01-am', 'V02-am']) {
    await boss.folder(`sessions/${session}/`);
    await boss.create(`sessions/${session}/${'a'.repeat(64)}.part`, text('signal'));
    for (const rater of ['R1', 'R2']) await boss.create(`assign/${rater}/${session}.json`, text('{}'));
    await boss.create(`settle/A1/${session}.json`, text('{}'));
  }
  await boss.create(`study/0001-${'b'.repeat(64)}.json`, text('{}'));
  await boss.create(`heads/000001-${'c'.repeat(64)}.json`, text('{}'));
}

export const text = (words: string) => new TextEncoder().encode(words);

/** The name of a chunk of a log. */
export const chunk = (from: number, to: number, letter: string) =>
  `${String(from).padStart(8, '0')}-${String(to).padStart(8, '0')}-${letter.repeat(64)}.jsonl`;
