import { fileURLToPath } from 'node:url';
import { folders } from './folders.mjs';

const folder = process.env.MUTATE ?? 'marks';

export default {
  testRunner: 'vitest',
  // None: nothing here refers to files outside the tree, and what would rewrite it asks TypeScript 7 for what it no longer has.
  tsconfigFile: 'none.json',
  vitest: { configFile: 'tests/mutation/vitest.config.mjs' },
  plugins: ['@stryker-mutator/vitest-runner', fileURLToPath(new URL('./sample.mjs', import.meta.url))],
  checkers: process.env.MUTATE_SAMPLE ? ['sample'] : [],
  // MUTATE_FILES narrows a run to some files or lines, e.g. src/core/marks/spans.ts:40-60.
  mutate: process.env.MUTATE_FILES ? process.env.MUTATE_FILES.split(',') : folders[folder].mutate,
  // Words for people are not what these tests are about; they are checked where a message matters.
  mutator: { excludedMutations: ['StringLiteral'] },
  ignorePatterns: [
    ...(folders[folder].samples ? [] : ['sample-sessions']),
    'dist',
    'test-results',
    'coverage',
    'playwright-report',
  ],
  ignoreStatic: true,
  concurrency: 1,
  // Less takes slow mutants of a busy machine for endless loops.
  timeoutMS: 20_000,
  // A second run takes from the first what neither code nor tests have changed since.
  incremental: true,
  incrementalFile: `/tmp/beat-ledger-mutation/${folder}.incremental.json`,
  reporters: ['progress-append-only', 'clear-text', 'json'],
  clearTextReporter: { allowColor: false, logTests: false, reportTests: false },
  jsonReporter: { fileName: `/tmp/beat-ledger-mutation/${folder}.json` },
  tempDirName: '.stryker-tmp',
};
