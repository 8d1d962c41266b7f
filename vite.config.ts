import { cpSync, createReadStream, existsSync } from 'node:fs';
import { join } from 'node:path';
import react from '@vitejs/plugin-react';
import type { Plugin } from 'vite';
import { defineConfig } from 'vitest/config';

const policy =
  "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; worker-src 'self'; img-src 'self' blob: data:; manifest-src 'self'; base-uri 'none'; form-action 'none'";

/** Serves sample-sessions/ under /samples and copies it into the built page. */
function sampleSessions(): Plugin {
  const from = join(import.meta.dirname, 'sample-sessions');
  return {
    name: 'sample-sessions',
    configureServer(server) {
      server.middlewares.use('/samples', (request, response, next) => {
        const path = join(from, decodeURIComponent((request.url ?? '').split('?')[0] ?? '').replaceAll('..', ''));
        if (!existsSync(path)) return next();
        createReadStream(path).pipe(response);
      });
    },
    writeBundle(options) {
      if (options.dir && existsSync(from)) cpSync(from, join(options.dir, 'samples'), { recursive: true });
    },
  };
}

/** The built page carries its own policy: nothing is fetched from, or sent to, anywhere but where it came from. */
function contentSecurityPolicy(): Plugin {
  return {
    name: 'content-security-policy',
    apply: 'build',
    transformIndexHtml: html =>
      html.replace('<head>', `<head>\n    <meta http-equiv="Content-Security-Policy" content="${policy}" />`),
  };
}

export default defineConfig({
  base: './',
  plugins: [react(), sampleSessions(), contentSecurityPolicy()],
  worker: { format: 'es' },
  build: { target: 'es2022', assetsInlineLimit: 0 },
  server: { port: 4173 },
  preview: { port: 4173, strictPort: false },
  test: {
    include: ['tests/unit/**/*.test.ts'],
    testTimeout: 30_000,
    coverage: { include: ['src/core/**'], provider: 'v8' },
  },
});
