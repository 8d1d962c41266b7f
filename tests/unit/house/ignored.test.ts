import { execFileSync } from 'node:child_process';
import { copyFileSync, mkdirSync, mkdtempSync, rmSync, symlinkSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect, test } from 'vitest';

test('git leaves out what was installed, in a folder or behind a link', () => {
  const folder = mkdtempSync(join(tmpdir(), 'ignored-'));
  const git = (...args: string[]) => execFileSync('git', ['-C', folder, ...args], { encoding: 'utf8' });
  try {
    git('init', '--quiet');
    copyFileSync(join(import.meta.dirname, '../../../.gitignore'), join(folder, '.gitignore'));
    mkdirSync(join(folder, 'elsewhere'));
    symlinkSync('elsewhere', join(folder, 'node_modules'));
    expect(git('status', '--porcelain', '--untracked-files=all')).toBe('?? .gitignore\n');
  } finally {
    rmSync(folder, { recursive: true });
  }
});
