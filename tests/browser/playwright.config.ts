import { join } from 'node:path';
import { defineConfig } from '@playwright/test';

const root = join(import.meta.dirname, '../..');
const builtPort = Number(process.env['BUILT_PORT'] ?? 4273);
const modulesPort = Number(process.env['MODULES_PORT'] ?? 4274);
const address = (port: number) => `http://localhost:${port}`;

/** A page of a test lives for seconds: what the last compiler would gain later costs a sixth of the processor time now. */
export const shortLived = '--js-flags=--no-turbofan --invocation-count-for-maglev=2000';

/** `built` drives the built page; `modules` runs single modules of src/ in a real browser, without the page. */
export default defineConfig({
  testDir: import.meta.dirname,
  outputDir: join(root, 'test-results'),
  timeout: 120_000,
  expect: { timeout: 20_000 },
  workers: 2,
  // A spec is one journey by itself: the two browsers share all of them, or one stands idle while the other ends a long file.
  fullyParallel: true,
  // A browser on a busy machine: what passes only the second time is listed as flaky at the end, to be mended.
  retries: 1,
  forbidOnly: true,
  reporter: [['list']],
  use: {
    // Each would fetch the whole page again to keep it; the specs of work without a network allow it.
    serviceWorkers: 'block',
    launchOptions: {
      executablePath: process.env['CHROMIUM_PATH'] ?? '/usr/bin/chromium',
      args: [
        '--no-sandbox',
        '--disable-gpu',
        '--disable-quic',
        '--no-first-run',
        '--disable-background-networking',
        '--disable-component-update',
        '--disable-sync',
        shortLived,
      ],
    },
  },
  projects: [
    { name: 'built', testMatch: '*.spec.ts', use: { baseURL: address(builtPort) } },
    { name: 'modules', testMatch: '*.modules.ts', use: { baseURL: address(modulesPort) } },
  ],
  webServer: [
    {
      command: `npx vite preview --port ${builtPort} --strictPort`,
      cwd: root,
      port: builtPort,
      reuseExistingServer: false,
    },
    {
      command: `node tests/browser/serve-modules.mjs ${modulesPort}`,
      cwd: root,
      url: `${address(modulesPort)}/package.json`,
      reuseExistingServer: false,
    },
  ],
});
