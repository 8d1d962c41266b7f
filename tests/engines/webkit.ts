import type { ChildProcess } from 'node:child_process';
import { once } from 'node:events';
import type { Readable } from 'node:stream';
import { setTimeout as sleep } from 'node:timers/promises';
import { freePort } from '../bench/browser';
import { endServer, startServer } from '../servers';
import type { Driver } from './driver';

const miniBrowser = '/usr/lib/x86_64-linux-gnu/webkit2gtk-4.1/MiniBrowser';
/** Keys by name in W3C WebDriver, section 17.4.2. */
const namedKeys: Readonly<Record<string, string>> = {
  Enter: '\uE007',
  Escape: '\uE00C',
  Delete: '\uE017',
  ArrowLeft: '\uE012',
  ArrowRight: '\uE014',
};

/** Longer than any script or page is given below. */
const answerMs = 150_000;
const startMs = 120_000;

/** WebKitGTK over W3C WebDriver, on a screen of its own, in a system without a locale. */
export async function openWebKit(): Promise<Driver> {
  const children: ChildProcess[] = [];
  const stop = () => {
    for (const child of children.reverse()) endServer(child);
  };
  try {
    const screen = await openScreen(children);
    const port = await freePort();
    const env = { ...process.env, LC_ALL: 'C', DISPLAY: screen, WEBKIT_DISABLE_SANDBOX_THIS_IS_DANGEROUS: '1' };
    children.push(startServer('/usr/bin/WebKitWebDriver', [`--port=${port}`], { env }));
    const call = await session(`http://127.0.0.1:${port}`);
    return { ...driverOf(call), close: async () => stop() };
  } catch (error) {
    stop();
    throw error;
  }
}

/** A screen without a monitor, under the first number that is free. Without one the engine waits for ever, in silence. */
async function openScreen(children: ChildProcess[]): Promise<string> {
  const args = ['-displayfd', '3', '-screen', '0', '1440x900x24', '-nolisten', 'tcp'];
  const server = startServer('/usr/bin/Xvfb', args, { stdio: ['ignore', 'ignore', 'ignore', 'pipe'] });
  children.push(server);
  const numbers = server.stdio[3] as Readable;
  const told = once(numbers, 'data', { signal: AbortSignal.timeout(startMs) }) as Promise<[Buffer]>;
  const [said] = await told.catch(error => {
    throw new Error(`Xvfb has opened no screen: ${(error as Error).message}`);
  });
  return `:${said.toString().trim()}`;
}

type Call = <T>(method: 'GET' | 'POST' | 'DELETE', path: string, body?: object) => Promise<T>;

async function session(base: string): Promise<Call> {
  const request = async <T>(method: string, path: string, body?: object, withinMs = answerMs): Promise<T> => {
    const init = { method, signal: AbortSignal.timeout(withinMs), ...(body ? { body: JSON.stringify(body) } : {}) };
    const { value } = (await (await fetch(base + path, init)).json()) as {
      value: T & { error?: string; message?: string };
    };
    if (value?.error) throw new Error(`${method} ${path}: ${value.error}: ${value.message}`);
    return value;
  };
  for (let attempt = 0; ; attempt++) {
    try {
      await request('GET', '/status');
      break;
    } catch (error) {
      if (attempt === 50) throw error;
      await sleep(200);
    }
  }
  const options = { binary: miniBrowser, args: ['--automation'] };
  const capabilities = { alwaysMatch: { browserName: 'MiniBrowser', 'webkitgtk:browserOptions': options } };
  const { sessionId } = await request<{ sessionId: string }>('POST', '/session', { capabilities }, startMs);
  const call: Call = (method, path, body) => request(method, `/session/${sessionId}${path}`, body);
  await call('POST', '/timeouts', { script: 120_000, pageLoad: 120_000 });
  return call;
}

function driverOf(call: Call): Omit<Driver, 'close'> {
  const evaluate = <T>(expression: string) =>
    call<T>('POST', '/execute/sync', { script: `return (${expression});`, args: [] });
  return {
    name: 'WebKitGTK',
    goto: async url => {
      await call('POST', '/url', { url });
    },
    reload: async () => {
      await call('POST', '/refresh', {});
    },
    press: async key => {
      const value = namedKeys[key] ?? key;
      const actions = [
        { type: 'keyDown', value },
        { type: 'keyUp', value },
      ];
      await call('POST', '/actions', { actions: [{ type: 'key', id: 'keyboard', actions }] });
    },
    evaluate,
    // WebKitWebDriver 2.50 does not know the command.
    print: async () => null,
  };
}
