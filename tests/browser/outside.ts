import { createServer, type Server } from 'node:http';
import { type AddressInfo, connect } from 'node:net';
import type { BrowserContext, Page } from '@playwright/test';

/** A proxy that everything but this machine goes through, and that lets nothing pass: it writes down who was asked for. */
export interface Outside {
  readonly server: string;
  readonly asked: string[];
  close(): void;
}

export async function watchOutside(): Promise<Outside> {
  const asked: string[] = [];
  const proxy: Server = createServer((request, response) => {
    const url = request.url ?? '';
    if (!isHere(url)) {
      asked.push(url);
      response.writeHead(502).end();
    } else response.writeHead(400).end();
  });
  proxy.on('connect', (request, socket) => {
    if (isHere(`https://${request.url}`)) {
      const [host = '', port] = (request.url ?? '').split(':');
      const through = connect(Number(port), host, () => {
        socket.write('HTTP/1.1 200 Connected\r\n\r\n');
        through.pipe(socket).pipe(through);
      });
      return;
    }
    asked.push(request.url ?? '');
    socket.end('HTTP/1.1 502 Closed\r\n\r\n');
  });
  await new Promise<void>(done => proxy.listen(0, '127.0.0.1', done));
  const { port } = proxy.address() as AddressInfo;
  return { server: `http://127.0.0.1:${port}`, asked, close: () => proxy.close() };
}

function isHere(url: string): boolean {
  return URL.canParse(url) && ['localhost', '127.0.0.1'].includes(new URL(url).hostname);
}

/** Writes down everything the page's own policy stopped, in the page's words. */
export async function watchPolicy(page: Page): Promise<string[]> {
  const stopped: string[] = [];
  await page.exposeFunction('policyStopped', (what: string) => stopped.push(what));
  await page.addInitScript(() => {
    document.addEventListener('securitypolicyviolation', event => {
      const told = `${event.effectiveDirective} ${event.blockedURI} ${event.sample} ${event.sourceFile}`;
      (window as unknown as { policyStopped(what: string): void }).policyStopped(told);
    });
  });
  return stopped;
}

/** Addresses outside the page's origin that the pages and workers of a context asked for, as the browser reports them. */
export function watchRequests(context: BrowserContext, origin: string): string[] {
  const foreign: string[] = [];
  context.on('request', request => {
    const url = request.url();
    if (/^(blob|data):/.test(url)) return;
    if (new URL(url).origin !== origin) foreign.push(url);
  });
  return foreign;
}
