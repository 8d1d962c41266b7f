import { existsSync, readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { allCommands } from '../../../src/commands/scenes';
import { firstKeys, generatedParts, withParts } from '../../house/readme-parts';

const root = join(import.meta.dirname, '../../..');
const read = (name: string) => readFileSync(join(root, name), 'utf8');
const scripts = (JSON.parse(read('package.json')) as { scripts: Record<string, string> }).scripts;

/** What stands in backticks, outside code blocks. */
function inlineCode(text: string): string[] {
  return [...text.replace(/^```[\s\S]*?^```/gm, '').matchAll(/`([^`\n]+)`/g)].map(m => m[1]!);
}

const looksLikePath = (code: string) => /^(src|tests|public|sample-sessions)\/[\w./-]+$/.test(code);

const documents = [
  'README.md',
  'DEVELOPERS.md',
  'tests/README.md',
  'tests/bench/README.md',
  'tests/mutation/README.md',
];

test.each(['README.md', 'DEVELOPERS.md'])('%s is read in a few minutes', name => {
  expect(read(name).split('\n').length).toBeLessThanOrEqual(131);
});

describe.each(documents)('%s', name => {
  const text = read(name);

  test('names paths that exist', () => {
    const paths = inlineCode(text).filter(looksLikePath);
    expect(paths.length).toBeGreaterThan(0);
    expect(paths.filter(p => !existsSync(join(root, p)))).toEqual([]);
  });

  test('names scripts that exist', () => {
    const named = [...text.matchAll(/(?:^|`|&& )npm (?:run (?:-s )?)?([a-z:-]+)/gm)].map(m => m[1]!);
    const known = named.filter(s => !['ci', 'run', 'install'].includes(s));
    expect(known.length).toBeGreaterThan(0);
    expect(known.filter(s => !(s in scripts))).toEqual([]);
  });

  test('links pictures and pages that exist', () => {
    const links = [...text.matchAll(/\]\(([^)#]+)\)/g)].map(m => m[1]!).filter(l => !l.includes('://'));
    expect(links.filter(l => !existsSync(join(root, dirname(name), l)))).toEqual([]);
  });
});

describe('the generated parts', () => {
  const generated = generatedParts(
    read('tests/bench/last-run.json'),
    read('tests/bench/accuracy.json'),
    read('tests/bench/keys-before.json'),
    read('tests/bench/keys.json'),
    read('tests/bench/noise.json'),
    read('tests/bench/not-sinus.json'),
    read('tests/bench/calibration.json'),
    read('tests/bench/noise-character.json'),
    read('tests/bench/sample-noise.json'),
    read('tests/bench/apex.json'),
  );

  test.each(Object.entries(generated))('of %s are current', (name, parts) => {
    expect(withParts(name, read(name), parts)).toBe(read(name));
  });

  test('have the dozen keys of the first hour, all of them of the review or of everywhere', () => {
    expect(firstKeys).toHaveLength(12);
    const scenes = firstKeys.map(id => allCommands.find(c => c.id === id)?.scene);
    expect(scenes.filter(scene => scene !== 'review' && scene !== 'anywhere')).toEqual([]);
  });
});
