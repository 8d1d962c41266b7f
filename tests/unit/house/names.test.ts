import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';

const src = join(import.meta.dirname, '../../../src');
const sources = readdirSync(src, { recursive: true, encoding: 'utf8' })
  .filter(path => /\.tsx?$/.test(path))
  .map(path => ({ path: path.replaceAll('\\', '/'), text: readFileSync(join(src, path), 'utf8') }));

describe('one name, one meaning', () => {
  test('no two files export the same name', () => {
    const exported = new Map<string, string[]>();
    for (const { path, text } of sources) {
      const names = text.matchAll(
        /^export (?:async )?(?:abstract )?(?:function\*?|const|let|class|interface|type|enum) (\w+)/gm,
      );
      for (const [, name] of names) exported.set(name!, [...new Set([...(exported.get(name!) ?? []), path])]);
    }
    expect(exported.size).toBeGreaterThan(2000);
    expect([...exported].filter(([, paths]) => paths.length > 1)).toEqual([]);
  });

  test('private members are written with the word', () => {
    expect(sources.filter(({ text }) => /\bthis\.#\w/.test(text)).map(s => s.path)).toEqual([]);
  });

  test('seconds are written out', () => {
    const short = sources.flatMap(({ path, text }) =>
      [...text.matchAll(/\b\w*[a-z]Sec(?![a-z])\w*/g)].map(([name]) => `${path}: ${name}`),
    );
    // Fields of records that stores have held from the beginning.
    const stored =
      /^(state\/(library|review\/opening|clocks\/fits)|storage\/sessions)\.ts: (startSec|offsetSec|durationSec)$/;
    expect(short.filter(s => !stored.test(s))).toEqual([]);
  });
});
