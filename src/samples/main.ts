import { mkdirSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { sha256Hex } from '../core/marks/log';
import { sampleSet } from './files';

/** Writes sample-sessions/ again, byte for byte, with a list of checksums. */
const folder = join(import.meta.dirname, '../../sample-sessions');
const sums: string[] = [];
let total = 0;
for await (const [path, bytes] of sampleSet()) {
  mkdirSync(dirname(join(folder, path)), { recursive: true });
  writeFileSync(join(folder, path), bytes);
  sums.push(`${sha256Hex(bytes)}  ${path}`);
  total += bytes.length;
}
writeFileSync(
  join(folder, 'checksums.txt'),
  `${sums.sort((a, b) => (a.slice(66) < b.slice(66) ? -1 : 1)).join('\n')}\n`,
);
console.log(`${sums.length} files, ${(total / 1e6).toFixed(1)} MB in sample-sessions/`);
