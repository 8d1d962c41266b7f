import { join } from 'node:path';
import { defineConfig } from 'vitest/config';

/** Tests that need a real server; tests/remote/install.ts installs what is absent. */
export default defineConfig({
  root: join(import.meta.dirname, '../..'),
  test: {
    include: ['tests/remote/**/*.test.ts'],
    globalSetup: [join(import.meta.dirname, 'install.ts')],
    // Each file starts a server of its own, on a port of its own.
    maxWorkers: '100%',
    retry: 1,
    testTimeout: 300_000,
    hookTimeout: 120_000,
  },
});
