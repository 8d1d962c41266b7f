import { readFile } from 'node:fs/promises';
import { createServer } from 'node:http';
import type { AddressInfo } from 'node:net';
import { extname, join } from 'node:path';

const dist = join(import.meta.dirname, '../../dist');
const types: Record<string, string> = {
  '.html': 'text/html',
  '.js': 'text/javascript',
  '.css': 'text/css',
  '.svg': 'image/svg+xml',
  '.png': 'image/png',
  '.json': 'application/json',
  '.webmanifest': 'application/manifest+json',
};

/** The built page from a server that can go away, and that can be told to hand out a newer page with another title. */
export async function serveBuilt() {
  let newer = false;
  const change = (path: string, body: Buffer): Buffer | string => {
    if (!newer) return body;
    if (path === '/index.html') return body.toString().replace('<title>Beat Ledger', '<title>Newer Beat Ledger');
    // The worker knows the page by the checksum of its bytes.
    if (path === '/sw.js') return body.toString().replace(/(index\.html",\s*"?revision"?:\s*")[^"]+/, '$1newer');
    return body;
  };
  const server = createServer(async (request, response) => {
    const asked = (request.url ?? '/').split('?')[0]!;
    const path = asked === '/' ? '/index.html' : asked;
    try {
      const body = change(path, await readFile(join(dist, decodeURIComponent(path))));
      response.writeHead(200, { 'content-type': types[extname(path)] ?? 'application/octet-stream' }).end(body);
    } catch {
      response.writeHead(404).end();
    }
  });
  await new Promise<void>(done => server.listen(0, 'localhost', done));
  const { port } = server.address() as AddressInfo;
  return {
    address: `http://localhost:${port}/`,
    handOutNewer() {
      newer = true;
    },
    close() {
      server.close();
      server.closeAllConnections();
    },
  };
}
