import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { keyLabel } from '../../../src/commands/command';
import { allCommands } from '../../../src/commands/scenes';
import { generatedParts, withParts } from '../../house/readme-parts';

const root = join(import.meta.dirname, '../../..');
const read = (name: string) => readFileSync(join(root, name), 'utf8');
const scripts = (JSON.parse(read('package.json')) as { scripts: Record<string, string> }).scripts;

/** What stands in backticks, outside code blocks. */
function inlineCode(text: string): string[] {
  return [...text.replace(/^```[\s\S]*?^```/gm, '').matchAll(/`([^`\n]+)`/g)].map(m => m[1]!);
}

const looksLikePath = (code: string) => /^(src|tests|public|sample-sessions)\/[\w./-]+$/.test(code);

describe.each(['README.md', 'DEVELOPERS.md'])('%s', name => {
  const text = read(name);

  test('names paths that exist', () => {
    const paths = inlineCode(text).filter(looksLikePath);
    expect(paths.length).toBeGreaterThan(0);
    expect(paths.filter(p => !existsSync(join(root, p)))).toEqual([]);
  });

  test('names scripts that exist', () => {
    const named = [...text.matchAll(/(?:^|`|&& )npm (?:run (?:-s )?)?([a-z:]+)/gm)].map(m => m[1]!);
    const known = named.filter(s => !['ci', 'run'].includes(s));
    expect(known.length).toBeGreaterThan(0);
    expect(known.filter(s => !(s in scripts))).toEqual([]);
  });

  test('links pictures and pages that exist', () => {
    const links = [...text.matchAll(/\]\(([^)#]+)\)/g)].map(m => m[1]!).filter(l => !l.includes('://'));
    expect(links.filter(l => !existsSync(join(root, l)))).toEqual([]);
  });
});

describe('the generated parts of README.md', () => {
  test('are current', () => {
    const stored = (name: string) => (existsSync(join(root, name)) ? read(name) : null);
    const parts = generatedParts(stored('tests/bench/last-run.json'), stored('tests/bench/accuracy.json'));
    expect(withParts(read('README.md'), parts)).toBe(read('README.md'));
  });

  test('name every key of the review', () => {
    const table = read('README.md');
    for (const c of allCommands.filter(c => c.scene === 'review')) {
      for (const key of c.keys) expect(table).toContain(`\`${keyLabel(key)}\``);
    }
  });
});
