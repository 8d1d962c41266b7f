// Serves src/ and tests/ module by module. Dependencies are bundled beforehand: finding one late would reload the page
// in the middle of a test.
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { createServer } from 'vite';

const root = join(import.meta.dirname, '../..');
const { dependencies } = JSON.parse(readFileSync(join(root, 'package.json'), 'utf8'));
const withSubpaths = { '@noble/hashes': ['@noble/hashes/sha2.js', '@noble/hashes/utils.js'], zod: ['zod/mini'] };
const include = Object.keys(dependencies).flatMap(name => withSubpaths[name] ?? [name]);

/** A page of its own process group is told the time to 5 microseconds; any other to 100, too coarse for a frame. */
const fineClock = { 'Cross-Origin-Opener-Policy': 'same-origin', 'Cross-Origin-Embedder-Policy': 'require-corp' };

const server = await createServer({
  root,
  appType: 'mpa',
  logLevel: 'warn',
  cacheDir: join(root, 'node_modules/.vite-modules'),
  optimizeDeps: { include, noDiscovery: true, entries: [] },
  server: { port: Number(process.argv[2]), strictPort: true, hmr: false, watch: null, headers: fineClock },
});
await server.listen();
