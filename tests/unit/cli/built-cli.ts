import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { build } from 'vite';

const root = join(import.meta.dirname, '../../..');

/** The command line built into a scratch folder, as `npm run build` makes it. */
export function builtCli() {
  const outDir = mkdtempSync(join(tmpdir(), 'built-cli-'));
  return {
    outDir,
    program: join(outDir, 'beat-ledger.js'),
    make: async () => void (await build({ configFile: join(root, 'src/cli/vite.config.ts'), build: { outDir } })),
    remove: () => rmSync(outDir, { recursive: true, force: true }),
  };
}
