import { cpSync, createReadStream, existsSync } from 'node:fs';
import { join } from 'node:path';
import react from '@vitejs/plugin-react';
import type { Plugin } from 'vite';
import { VitePWA } from 'vite-plugin-pwa';
import { defineConfig } from 'vitest/config';
import headers from './public/hosting/headers.json' with { type: 'json' };

/** A <meta> cannot say who may frame the page; browsers warn of it there. */
const policy = headers['Content-Security-Policy'].replace(/; frame-ancestors [^;]*/, '');

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

/**
 * The page's own policy does not bind its workers, which take theirs from the answer that brought their script: the preview
 * sends the headers that public/hosting has for other servers.
 */
function headersOfHosting(): Plugin {
  return {
    name: 'headers-of-hosting',
    configurePreviewServer(server) {
      server.middlewares.use((request, response, next) => {
        for (const [name, value] of Object.entries(headers)) response.setHeader(name, value);
        // On one machine, packing a file and unpacking it takes longer than sending it as it is.
        delete request.headers['accept-encoding'];
        next();
      });
    },
  };
}

/**
 * The page works without a network after the first visit. A newer page is fetched beside the running one and waits until
 * the person takes it (src/state/updates.ts). Sample sessions are kept when first opened.
 */
function offline() {
  return VitePWA({
    registerType: 'prompt',
    injectRegister: null,
    includeAssets: ['icon.svg', 'icon-192.png', 'icon-512.png'],
    manifest: {
      name: 'Beat Ledger',
      short_name: 'Beat Ledger',
      description: 'Review R-peak marks on an ECG by eye and keyboard.',
      start_url: './',
      scope: './',
      display: 'standalone',
      background_color: '#faf6ec',
      theme_color: '#faf6ec',
      icons: [
        { src: 'icon.svg', sizes: 'any', type: 'image/svg+xml' },
        { src: 'icon-192.png', sizes: '192x192', type: 'image/png' },
        { src: 'icon-512.png', sizes: '512x512', type: 'image/png' },
      ],
    },
    workbox: {
      globPatterns: ['**/*.{html,js,css,svg,png}', 'schema/*', 'samples/index.json'],
      maximumFileSizeToCacheInBytes: 8 * 2 ** 20,
      inlineWorkboxRuntime: true,
      // Screens lie behind the #, so no other address stands for the page.
      navigateFallback: null,
      // The first visit is served by the worker at once, so that samples opened in it are kept.
      clientsClaim: true,
      cleanupOutdatedCaches: true,
      runtimeCaching: [
        {
          urlPattern: ({ sameOrigin, url }) => sameOrigin && url.pathname.includes('/samples/'),
          handler: 'NetworkFirst',
          options: { cacheName: 'samples' },
        },
      ],
    },
  });
}

/** What screens share is named after all of them: too long for a file. */
const plain = (name: string) => (name.startsWith('shared~') ? 'shared' : '[name]');

/** A project takes over what stands beside it only when it says so. */
function unitTests(name: string, isolate: boolean, folders: readonly string[]) {
  const include = folders.map(folder => `tests/unit/${folder}/**/*.test.ts`);
  return { extends: true as const, test: { name, isolate, include } };
}

export default defineConfig({
  base: './',
  plugins: [react(), sampleSessions(), contentSecurityPolicy(), headersOfHosting(), offline()],
  worker: { format: 'es' },
  build: {
    target: 'es2022',
    assetsInlineLimit: 0,
    // Left to itself a screen comes in fifty files, each of them a request: what the first page names is one file, and what
    // screens share comes in pieces that are worth a request.
    rolldownOptions: {
      output: {
        chunkFileNames: ({ name }) => `assets/${plain(name)}-[hash].js`,
        assetFileNames: ({ names }) => `assets/${plain(names[0] ?? '')}-[hash][extname]`,
        codeSplitting: {
          groups: [
            { name: 'start', tags: ['$initial'], priority: 2 },
            { name: 'shared', minShareCount: 2, entriesAware: true, entriesAwareMergeThreshold: 60_000 },
          ],
        },
      },
    },
  },
  server: { port: 4173 },
  preview: { port: 4173, strictPort: false },
  test: {
    projects: [
      // What only computes leaves nothing behind: its modules are loaded once for each core, not for each file.
      unitTests('computing', false, ['core', 'cli', 'formats', 'house', 'remote', 'report', 'samples']),
      unitTests('page', true, ['commands', 'state', 'storage', 'views', 'workers']),
    ],
    // A test says what is right, never how fast: on a busy machine each may take its time.
    testTimeout: 600_000,
    hookTimeout: 600_000,
    // All cores: one is left idle by default, which on two cores is half of them.
    maxWorkers: '100%',
    coverage: {
      include: ['src/core/**/*.ts'],
      provider: 'v8',
      reporter: ['text'],
      thresholds: { branches: 95, statements: 97, functions: 97, lines: 97 },
    },
  },
});
