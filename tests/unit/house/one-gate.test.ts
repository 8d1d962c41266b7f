import { readdirSync, readFileSync } from 'node:fs';
import { join, relative } from 'node:path';
import { expect, test } from 'vitest';

const src = join(import.meta.dirname, '../../../src');

/** Calls that put an entry into the log of an open review. */
const appending = /\.review\.(act|undo|redo)\(/;

function offenders(files: readonly { readonly path: string; readonly text: string }[]): string[] {
  return files.filter(f => f.path !== 'commands/perform.ts' && appending.test(f.text)).map(f => f.path);
}

test('whatever changes a review goes through one gate', () => {
  const paths = ['commands', 'views', 'state'].flatMap(folder =>
    readdirSync(join(src, folder), { recursive: true, encoding: 'utf8' }).map(name => join(src, folder, name)),
  );
  const files = paths
    .filter(path => /\.tsx?$/.test(path))
    .map(path => ({ path: relative(src, path), text: readFileSync(path, 'utf8') }));
  expect(files.length).toBeGreaterThan(100);
  expect(files.filter(f => f.path === 'commands/perform.ts' && appending.test(f.text))).toHaveLength(1);
  expect(offenders(files)).toEqual([]);
  const planted = { path: 'views/review/planted.tsx', text: 'workspace.review.act({ intent })' };
  expect(offenders([...files, planted])).toEqual([planted.path]);
});
