// Writes the generated parts of the documents: the keys of the first hour, and the figures of the last benchmark runs.
// `--check` only says whether they are current.
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { generatedParts, withParts } from './readme-parts';

const root = join(import.meta.dirname, '../..');
const files = [
  'last-run',
  'accuracy',
  'keys-before',
  'keys',
  'noise',
  'not-sinus',
  'calibration',
  'noise-character',
  'sample-noise',
  'apex',
];
type Stored = Parameters<typeof generatedParts>;
const stored = (name: string) => readFileSync(join(root, 'tests/bench', name), 'utf8');
for (const [document, parts] of Object.entries(generatedParts(...(files.map(n => stored(`${n}.json`)) as Stored)))) {
  const path = join(root, document);
  const text = readFileSync(path, 'utf8');
  const next = withParts(document, text, parts);
  if (next === text) continue;
  if (process.argv.includes('--check')) {
    console.error(`${document} is not current: run npm run readme`);
    process.exitCode = 1;
  } else writeFileSync(path, next);
}
