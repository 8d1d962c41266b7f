import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import headersOfHosting from '../../public/hosting/headers.json' with { type: 'json' };
import { RemoteError } from '../../src/remote/remote-error';
import { roleIn } from '../../src/state/sharing/lab-store';
import { rawly } from './rawly';
import { chunk, type Engine, setUpStudy, startServer, type TestServer, text } from './server';

/** What came of a try: the store's answer, or the problem of its RemoteError. */
async function outcome(trying: Promise<unknown>): Promise<string> {
  try {
    const found = await trying;
    if (found === null) return 'missing';
    return typeof found === 'string' ? found : 'allowed';
  } catch (error) {
    if (error instanceof RemoteError) return error.problem;
    throw error;
  }
}

/** One suite for every engine; what is right stands in public/lab-store/README.md. */
export function rightsSuite(engine: Engine): void {
  describe(`rights with ${engine.name}`, () => {
    let server: TestServer;
    const create = (user: string, path: string, words = 'x') => outcome(server.store(user).create(path, text(words)));
    const read = (user: string, path: string) => outcome(server.store(user).read(path));
    const list = (user: string, path: string) => outcome(server.store(user).list(path));

    /** The status of a request written by hand. */
    async function byHand(user: string | null, method: string, path: string, headers = {}, body?: string) {
      const authorization = `Basic ${btoa(`${user}:pw-${user}`)}`;
      const own = user === null ? {} : { authorization };
      const response = await fetch(server.base + path, {
        method,
        headers: { ...own, ...headers },
        ...(body ? { body } : {}),
      });
      return { status: response.status, text: await response.text() };
    }

    beforeAll(async () => {
      server = await startServer(engine);
      await setUpStudy(server);
      for (const rater of ['R1', 'R2']) {
        const store = server.store(rater);
        await store.folder(`logs/${rater}/V01-am/`);
        await store.create(
          `logs/${rater}/V01-am/${chunk(0, 1, rater === 'R1' ? '1' : '2')}`,
          text(`secret of ${rater}\n`),
        );
      }
    });
    afterAll(() => server.remove());

    test('the page is open to everyone, the store to nobody without an account', async () => {
      expect((await fetch(new URL('/', server.base))).status).toBe(200);
      for (const path of ['', 'study/', 'logs/R1/V01-am/', `sessions/V01-am/${'a'.repeat(64)}.part`]) {
        expect([path, (await byHand(null, 'GET', path)).status]).toEqual([path, 401]);
        expect([path, await outcome(engine.open(server.base, { user: 'R1', password: 'wrong' }).list(path))]).toEqual([
          path,
          'sign in',
        ]);
      }
    });

    test('the role of an account shows in a study that has begun and in one that is not there, which stays so', async () => {
      const elsewhere = new URL('../trial-9/', server.base).href;
      const roles = (base: string) =>
        Promise.all(
          ['boss', 'audit', 'R1', 'A1'].map(user => roleIn(engine.open(base, { user, password: `pw-${user}` }))),
        );
      expect(await roles(server.base)).toEqual(['supervisor', 'auditor', 'rater', 'rater']);
      expect(await roles(elsewhere)).toEqual(['supervisor', 'auditor', 'rater', 'rater']);
      expect(await outcome(engine.open(elsewhere, { user: 'boss', password: 'pw-boss' }).list(''))).toBe('missing');
    });

    test('annotators read the protocol, their assignments and the sessions assigned to them', async () => {
      expect(await list('R1', 'study/')).toBe('allowed');
      expect(await list('R1', 'assign/R1/')).toBe('allowed');
      expect(await read('R1', 'assign/R1/V01-am.json')).toBe('allowed');
      expect(await list('R1', 'sessions/V01-am/')).toBe('allowed');
      expect(await read('R1', `sessions/V01-am/${'a'.repeat(64)}.part`)).toBe('allowed');
      // R3 has no assignment.
      expect(await list('R3', 'sessions/V01-am/')).toBe('refused');
      expect(await read('R3', `sessions/V01-am/${'a'.repeat(64)}.part`)).toBe('refused');
      expect(await list('R1', 'sessions/')).toBe('refused');
      expect(await list('R1', 'assign/R2/')).toBe('refused');
      expect(await list('R1', 'assign/')).toBe('refused');
      expect(await list('R1', 'heads/')).toBe('refused');
      expect(await list('R1', '')).toBe('refused');
    });

    test('annotators make no assignment, session, protocol or head', async () => {
      const session = 'V09-am';
      for (const path of [
        `assign/R1/${session}.json`,
        `settle/R1/${session}.json`,
        `sessions/V01-am/${'d'.repeat(64)}.part`,
        `study/0002-${'d'.repeat(64)}.json`,
        `heads/000002-${'d'.repeat(64)}.json`,
        'index.html',
      ]) {
        expect([path, await create('R1', path)]).toEqual([path, 'refused']);
      }
      expect(await outcome(server.store('R1').folder('sessions/V09-am/'))).toBe('refused');
    });

    test('a log grows by its owner alone, under the names of chunks', async () => {
      expect(await create('R1', `logs/R1/V01-am/${chunk(2, 3, '1')}`)).toBe('created');
      expect(await create('R1', `logs/R1/V01-am/${chunk(2, 3, '1')}`, 'other')).toBe('exists');
      expect(await list('R1', 'logs/R1/V01-am/')).toBe('allowed');
      for (const path of ['notes.txt', '1-2-3.jsonl', `${chunk(2, 3, 'A')}`, `${chunk(2, 3, '1')}.bak`]) {
        expect([path, await create('R1', `logs/R1/V01-am/${path}`)]).toEqual([path, 'refused']);
      }
      expect(await create('R1', `logs/R2/V01-am/${chunk(2, 3, '1')}`)).toBe('refused');
      // No assignment, no log.
      expect(await outcome(server.store('R3').folder('logs/R3/V01-am/'))).toBe('refused');
      for (const user of ['boss', 'audit', 'A1', 'R3']) {
        expect([user, await create(user, `logs/R1/V01-am/${chunk(4, 5, '1')}`)]).toEqual([user, 'refused']);
        expect([user, await create(user, 'done/R1/V01-am.json')]).toEqual([user, 'refused']);
      }
    });

    test('nobody replaces, changes, moves, copies or deletes', async () => {
      const own = `logs/R1/V01-am/${chunk(0, 1, '1')}`;
      const before = (await byHand('R1', 'GET', own)).text;
      for (const user of ['R1', 'boss', 'audit', 'R2']) {
        const path = user === 'boss' ? `sessions/V01-am/${'a'.repeat(64)}.part` : own;
        for (const [method, headers] of [
          ['PUT', {}],
          ['PUT', { 'if-none-match': '"x"' }],
          ['PUT', { 'if-none-match': '*', 'content-range': 'bytes 0-3/8' }],
          ['PUT', { 'if-match': '*' }],
          ['DELETE', {}],
          ['MOVE', { destination: `${server.base}logs/R1/V01-am/${chunk(8, 9, '1')}` }],
          ['COPY', { destination: `${server.base}logs/R1/V01-am/${chunk(8, 9, '1')}` }],
          ['LOCK', {}],
          ['PROPPATCH', {}],
          ['POST', {}],
          ['PATCH', {}],
        ] as const) {
          const { status } = await byHand(user, method, path, headers, 'XXXX');
          expect([user, method, status, status >= 400]).toEqual([user, method, status, true]);
        }
      }
      expect((await byHand('R1', 'GET', own)).text).toBe(before);
      expect((await byHand('boss', 'GET', `sessions/V01-am/${'a'.repeat(64)}.part`)).text).toBe('signal');
      expect(await list('R1', 'logs/R1/V01-am/')).toBe('allowed');
      expect((await server.store('R1').list('logs/R1/V01-am/'))!.map(e => e.name)).not.toContain(chunk(8, 9, '1'));
    });

    test('no other log can be read before signing off, whatever the address', async () => {
      const theirs = `logs/R2/V01-am/${chunk(0, 1, '2')}`;
      const addresses = [
        theirs,
        'logs/R2/V01-am/',
        'logs/R2/V01-am',
        'logs/R2/',
        'logs/R2',
        'logs/',
        'logs',
        `./${theirs}`,
        `logs/R1/../R2/V01-am/${chunk(0, 1, '2')}`,
        `logs/R1/%2e%2e/R2/V01-am/${chunk(0, 1, '2')}`,
        `logs/R1/..%2fR2/V01-am/${chunk(0, 1, '2')}`,
        `assign/R1/../../logs/R2/V01-am/${chunk(0, 1, '2')}`,
        `assign/R1/%2e%2e/%2e%2e/logs/R2/V01-am/${chunk(0, 1, '2')}`,
        `study/../logs/R2/V01-am/${chunk(0, 1, '2')}`,
        `study/..%2f${theirs}`,
        `logs//R2/V01-am/${chunk(0, 1, '2')}`,
        `/logs/R2/V01-am/${chunk(0, 1, '2')}`,
        `%6cogs/R2/V01-am/${chunk(0, 1, '2')}`,
        `logs/%522/V01-am/${chunk(0, 1, '2')}`,
        `${theirs}?user=R2`,
        `${theirs}/`,
        `${theirs}%00`,
        `${theirs};a=b`,
        `../trial-1/${theirs}`,
        `../TRIAL-1/${theirs}`,
        'done/R2/',
        'done/R2/V01-am.json',
        'after/R2/V01-am/',
        '../',
        '',
      ];
      const reading = [
        ['GET', {}],
        ['HEAD', {}],
        ['PROPFIND', { depth: '1' }],
        ['PROPFIND', { depth: 'infinity' }],
        ['GET', { range: 'bytes=0-5' }],
        ['GET', { 'x-http-method-override': 'PROPFIND', 'x-original-url': `/study/trial-1/${theirs}` }],
        ['GET', { 'x-forwarded-user': 'R2', 'remote-user': 'R2' }],
        ['REPORT', {}],
        ['SEARCH', {}],
        ['COPY', { destination: `${server.base}logs/R1/V01-am/${chunk(6, 7, '1')}` }],
      ] as const;
      for (const address of addresses) {
        for (const [method, headers] of reading) {
          const answer = await rawly(server.base, 'R1', method, address, headers);
          expect([method, address, answer.status >= 400]).toEqual([method, address, true]);
          expect(answer.text).not.toContain('secret of R2');
          expect(answer.text).not.toContain('2'.repeat(64));
        }
      }
    });

    test.runIf(engine.name === 'Apache')('the inner ports ask for the same password and rights', async () => {
      for (const port of [server.places.port + 1, server.places.port + 2]) {
        const inner = server.base.replace(String(server.places.port), String(port));
        for (const user of ['R1', 'R3', 'nobody']) {
          const read = await rawly(inner, user, 'GET', `logs/R2/V01-am/${chunk(0, 1, '2')}`, {});
          const write = await rawly(inner, user, 'PUT', `logs/R2/V01-am/${chunk(8, 9, '2')}`, {
            'if-none-match': '*',
            'content-length': '0',
          });
          expect([port, user, read.status >= 400, write.status >= 400]).toEqual([port, user, true, true]);
          expect(read.text).not.toContain('secret');
        }
      }
    });

    test('the page comes with the headers that bind it and its workers; what is stored is never guessed at', async () => {
      const page = await fetch(new URL('/', server.base));
      const answered = Object.fromEntries(Object.keys(headersOfHosting).map(name => [name, page.headers.get(name)]));
      expect(answered).toEqual(headersOfHosting);
      const missing = await fetch(new URL('/nothing-here.js', server.base));
      expect([missing.status, missing.headers.get('content-security-policy')]).toEqual([
        404,
        headersOfHosting['Content-Security-Policy'],
      ]);
      expect(await create('boss', 'sessions/V01-am/nosniff.json', '{}')).toBe('created');
      const authorization = `Basic ${btoa('boss:pw-boss')}`;
      const stored = await fetch(`${server.base}sessions/V01-am/nosniff.json`, { headers: { authorization } });
      expect([stored.status, stored.headers.get('x-content-type-options')]).toEqual([200, 'nosniff']);
    });

    test('a body that is too large, or has no length, is refused', async () => {
      const path = `sessions/V01-am/${'e'.repeat(64)}.part`;
      const large = await byHand('boss', 'PUT', path, { 'if-none-match': '*' }, 'x'.repeat(8 * 2 ** 20 + 1));
      expect(large.status).toBeGreaterThanOrEqual(400);
      const stream = new ReadableStream({
        start(controller) {
          controller.enqueue(text('chunked'));
          controller.close();
        },
      });
      const headers = { authorization: `Basic ${btoa('boss:pw-boss')}`, 'if-none-match': '*' };
      const init: RequestInit & { duplex: 'half' } = { method: 'PUT', headers, body: stream, duplex: 'half' };
      expect((await fetch(server.base + path, init)).status).toBeGreaterThanOrEqual(400);
      expect(await read('boss', path)).toBe('missing');
      expect(await create('boss', path, 'x'.repeat(8 * 2 ** 20))).toBe('created');
    });

    test('settlers read a log once its owner has signed off, and not before', async () => {
      expect(await list('A1', 'sessions/V01-am/')).toBe('allowed');
      expect(await list('A1', 'logs/R1/V01-am/')).toBe('refused');
      expect(await create('R1', 'done/R1/V01-am.json', '{}')).toBe('created');
      expect(await list('A1', 'logs/R1/V01-am/')).toBe('allowed');
      expect(await list('A1', 'logs/R2/V01-am/')).toBe('refused');
      expect(await outcome(server.store('A1').folder('logs/A1/V01-am/'))).toBe('allowed');
      expect(await create('A1', `logs/A1/V01-am/${chunk(0, 0, '3')}`)).toBe('created');
    });

    test('signing off closes the own log for good, opens the other one of this session, and only that', async () => {
      expect(await create('R1', 'done/R1/V01-am.json', 'another')).toBe('exists');
      expect(await create('R1', `logs/R1/V01-am/${chunk(4, 5, '1')}`)).toBe('refused');
      expect(await list('R1', 'logs/R1/V01-am/')).toBe('allowed');
      expect(await read('R1', `logs/R2/V01-am/${chunk(0, 1, '2')}`)).toBe('allowed');
      expect(await list('R2', 'logs/R1/V01-am/')).toBe('refused');
      expect(await list('R1', 'logs/R2/V02-am/')).toBe('refused');
      expect(await list('R1', 'logs/R2/')).toBe('refused');
      expect(await outcome(server.store('R1').folder('after/R1/V01-am/'))).toBe('allowed');
      expect(await create('R1', `after/R1/V01-am/${chunk(4, 5, '1')}`)).toBe('created');
      expect(await outcome(server.store('R2').folder('after/R2/V01-am/'))).toBe('refused');
    });

    test('supervisors read and create all but entries and sign-offs; auditors read all and create nothing', async () => {
      for (const user of ['boss', 'audit']) {
        for (const path of [
          '',
          'logs/',
          'logs/R2/',
          'logs/R2/V01-am/',
          'done/R1/',
          'assign/R2/',
          'heads/',
          'sessions/V01-am/',
        ]) {
          expect([user, path, await list(user, path)]).toEqual([user, path, 'allowed']);
        }
      }
      expect(await create('boss', 'assign/R3/V01-am.json', '{}')).toBe('created');
      expect(await create('boss', `study/0002-${'d'.repeat(64)}.json`, '{}')).toBe('created');
      expect(await create('boss', 'done/R3/V01-am.json', '{}')).toBe('refused');
      for (const path of [
        'assign/R3/V02-am.json',
        `heads/000009-${'d'.repeat(64)}.json`,
        `logs/R3/V01-am/${chunk(0, 0, '4')}`,
      ]) {
        expect([path, await create('audit', path)]).toEqual([path, 'refused']);
      }
      expect(await list('R3', 'sessions/V01-am/')).toBe('allowed');
    });

    test('a changed password ends the old one at once', async () => {
      expect(await list('R3', 'study/')).toBe('allowed');
      server.setPassword('R3', 'new password with ümlaut');
      await expect.poll(() => list('R3', 'study/'), { timeout: 10_000 }).toBe('sign in');
      expect(await outcome(server.store('R3', 'new password with ümlaut').list('study/'))).toBe('allowed');
    });

    test('names that are missing are told from those that are refused', async () => {
      expect(await read('boss', 'study/missing.json')).toBe('missing');
      expect(await list('boss', 'missing/')).toBe('missing');
      expect(await list('R1', 'logs/R1/V02-am/')).toBe('missing');
      expect(await create('boss', 'sessions/missing/x.part')).toBe('no folder');
      expect(await outcome(server.store('boss').folder('missing/too/'))).toBe('no folder');
      expect(await outcome(server.store('boss').folder('sessions/V01-am/'))).toBe('allowed');
    });

    test('reads ranges of a file', async () => {
      const path = `sessions/V01-am/${'a'.repeat(64)}.part`;
      const part = async (start: number, end: number) =>
        new TextDecoder().decode((await server.store('R2').read(path, { start, end }))!);
      expect(await part(0, 3)).toBe('sig');
      expect(await part(2, 100)).toBe('gnal');
      expect(await part(50, 60)).toBe('');
      expect(await part(3, 3)).toBe('');
    });
  });
}
