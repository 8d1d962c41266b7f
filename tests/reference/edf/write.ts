import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { edfBytes } from '../../../src/formats/edf/writer';
import { referenceContents } from '../../unit/formats/edf/fixtures';

/** Writes the files that the independent readers are given: `tsx tests/reference/edf/write.ts DIRECTORY`. */
async function main(directory: string): Promise<void> {
  mkdirSync(directory, { recursive: true });
  for (const [name, content] of Object.entries(referenceContents())) {
    writeFileSync(join(directory, `${name}.edf`), await edfBytes(content));
  }
}

void main(process.argv[2] ?? '/tmp/edf-reference');
