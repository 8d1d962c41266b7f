import { createServer } from 'node:http';
import type { AddressInfo } from 'node:net';
import { expect, type Page, test, type Worker } from '@playwright/test';
import headers from '../../public/hosting/headers.json' with { type: 'json' };
import { fiveMinutes } from './five-minutes';
import { openBundle } from './page';

test.use({ serviceWorkers: 'allow' });

const { session, bundle } = fiveMinutes();

/** A server of another origin that lets anybody in and counts who came. */
async function elsewhere() {
  const asked: string[] = [];
  const server = createServer((request, response) => {
    asked.push(request.url ?? '');
    response.writeHead(200, { 'access-control-allow-origin': '*', 'cross-origin-resource-policy': 'cross-origin' });
    response.end('here');
  });
  await new Promise<void>(done => server.listen(0, '127.0.0.1', done));
  return { asked, address: `http://127.0.0.1:${(server.address() as AddressInfo).port}`, close: () => server.close() };
}

/** What comes of leaving, and of making code of text, a moment later: the debugger itself may do both. */
function trying(address: string): Promise<{ left: string; evaluated: string; worker: string }> {
  return new Promise(resolve =>
    setTimeout(async () => {
      const left = await fetch(`${address}/left`, { mode: 'no-cors' }).then(
        () => 'left',
        (error: Error) => error.name,
      );
      let evaluated = 'ran';
      try {
        new Function('return 1')();
      } catch (error) {
        evaluated = (error as Error).name;
      }
      const worker = await import(`${address}/script.js`).then(
        () => 'ran',
        (error: Error) => error.name,
      );
      resolve({ left, evaluated, worker });
    }, 0),
  );
}

const refused = { left: 'TypeError', evaluated: 'EvalError', worker: 'TypeError' };

/** Each worker is asked as it starts. They end with their jobs, some before they can answer: here they stay. */
async function askEach(page: Page, address: string): Promise<Map<string, Promise<unknown>[]>> {
  const answers = new Map<string, Promise<unknown>[]>();
  await page.addInitScript(() => {
    Worker.prototype.terminate = () => undefined;
  });
  page.on('worker', (worker: Worker) => {
    const name = /([a-z]+)\.worker/.exec(worker.url())?.[1] ?? worker.url();
    const answer = worker.evaluate(trying, address);
    answer.catch(() => undefined);
    answers.set(name, [...(answers.get(name) ?? []), answer]);
  });
  return answers;
}

test('no worker leaves the origin or makes code of text, and the page neither', async ({ context, page }) => {
  const other = await elsewhere();
  const answers = await askEach(page, other.address);
  await openBundle(page, 'five-minutes.zip', bundle, session.title);
  expect(await page.evaluate(trying, other.address)).toEqual(refused);
  const service = context.serviceWorkers()[0] ?? (await context.waitForEvent('serviceworker'));
  // A service worker imports nothing once it is installed, whatever the policy.
  const tried = await service.evaluate(trying, other.address);
  expect(tried).toMatchObject({ left: refused.left, evaluated: refused.evaluated });
  expect([...answers.keys()].sort()).toEqual(['analysis', 'import']);
  for (const asked of answers.values()) {
    for (const answer of await Promise.all(asked)) expect(answer).toEqual(refused);
  }
  expect(other.asked).toEqual([]);
  other.close();
});

test('what is watched for is seen: another page reaches that server', async ({ page }) => {
  const other = await elsewhere();
  await page.goto(`${other.address}/`);
  expect(await page.evaluate(trying, other.address)).toMatchObject({ left: 'left', evaluated: 'ran' });
  expect(other.asked).toContain('/left');
  other.close();
});

test('every file comes with the headers of public/hosting', async ({ page, request }) => {
  const seen = new Map<string, Record<string, string>>();
  page.on('response', response => seen.set(new URL(response.url()).pathname, response.headers()));
  await page.goto('/');
  await expect(page.getByTestId('file-input')).toBeAttached();
  seen.set('/sw.js', (await request.get('/sw.js')).headers());
  seen.set('/no-such-file', (await request.get('/no-such-file')).headers());
  expect([...seen.keys()].filter(path => path.endsWith('.js')).length).toBeGreaterThan(1);
  for (const [path, sent] of seen) {
    for (const [name, value] of Object.entries(headers))
      expect([path, sent[name.toLowerCase()]]).toEqual([path, value]);
  }
});
