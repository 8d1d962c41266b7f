import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { dialectsBegin, dialectsEnd, dialectTable } from '../unit/formats/dialects/table';

/** Writes the table of dialects into tests/README.md. */
const path = join(import.meta.dirname, '../README.md');
const text = readFileSync(path, 'utf8');
const [before, rest] = text.split(dialectsBegin);
const after = rest?.split(dialectsEnd)[1] ?? '\n';
writeFileSync(path, `${before}${await dialectTable()}${after}`);
