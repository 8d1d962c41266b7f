import { defineConfig } from 'vitest/config';
import { BaseSequencer } from 'vitest/node';
import { folders, slow, withProperties } from './folders.mjs';

const folder = process.env.MUTATE ?? 'marks';

/** Quick tests first: the first that fails ends a mutant. */
class QuickFirst extends BaseSequencer {
  async sort(files) {
    const rank = ({ moduleId }) => (slow.test(moduleId) ? 1 : 0);
    return [...files].sort((a, b) => rank(a) - rank(b) || (a.moduleId < b.moduleId ? -1 : 1));
  }
}

// Test files share one thread and its modules, which saves loading them again for each file and each mutant.
export default defineConfig({
  test: {
    include: folders[folder].tests,
    setupFiles: withProperties.test(folder) ? ['tests/mutation/properties.mjs'] : [],
    testTimeout: 120_000,
    isolate: false,
    fileParallelism: false,
    sequence: { sequencer: QuickFirst },
  },
});
