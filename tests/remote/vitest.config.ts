import { join } from 'node:path';
import { defineConfig } from 'vitest/config';

/** Tests that need a real server; tests/remote/install.ts installs what is absent. */
export default defineConfig({
  root: join(import.meta.dirname, '../..'),
  test: {
    include: ['tests/remote/**/*.test.ts'],
    globalSetup: [join(import.meta.dirname, 'install.ts')],
    // One server at a time: they would measure each other.
    fileParallelism: false,
    testTimeout: 300_000,
    hookTimeout: 120_000,
  },
});
