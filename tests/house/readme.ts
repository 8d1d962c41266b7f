// Writes the generated parts of README.md: the table of keys, and the figures of the last benchmark run. `--check` only
// says whether they are current.
import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { generatedParts, withParts } from './readme-parts';

const root = join(import.meta.dirname, '../..');
const path = join(root, 'README.md');
const stored = (name: string) => {
  const file = join(root, 'tests/bench', name);
  return existsSync(file) ? readFileSync(file, 'utf8') : null;
};
const text = readFileSync(path, 'utf8');
const next = withParts(text, generatedParts(stored('last-run.json'), stored('accuracy.json')));
if (process.argv.includes('--check')) {
  if (next !== text) {
    console.error('README.md is not current: run npm run readme');
    process.exitCode = 1;
  }
} else writeFileSync(path, next);
