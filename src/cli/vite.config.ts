import { chmodSync } from 'node:fs';
import { join } from 'node:path';
import { defineConfig } from 'vite';

const root = join(import.meta.dirname, '../..');
const file = 'beat-ledger.js';

/** Builds the command line into one file that Node runs by itself: dist/cli/beat-ledger.js. */
export default defineConfig({
  root,
  publicDir: false,
  logLevel: 'warn',
  plugins: [{ name: 'executable', writeBundle: ({ dir }) => chmodSync(join(dir ?? root, file), 0o755) }],
  ssr: { noExternal: true },
  build: {
    ssr: 'src/cli/main.ts',
    outDir: join(root, 'dist/cli'),
    emptyOutDir: true,
    target: 'node20',
    minify: true,
    rolldownOptions: {
      output: { entryFileNames: file, codeSplitting: false, banner: '#!/usr/bin/env node' },
    },
  },
});
