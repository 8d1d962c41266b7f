import { execFileSync, spawn, spawnSync } from 'node:child_process';
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { builtCli } from './built-cli';

const root = join(import.meta.dirname, '../../..');
const { outDir, program, make, remove } = builtCli();

beforeAll(make);
afterAll(remove);

test('is one file, run by its own name, that package.json names', () => {
  expect(readdirSync(outDir)).toEqual(['beat-ledger.js']);
  expect(execFileSync(program, ['--help'], { encoding: 'utf8' })).toMatch(/^usage: beat-ledger COMMAND/);
  const { bin } = JSON.parse(readFileSync(join(root, 'package.json'), 'utf8')) as { bin: Record<string, string> };
  expect(bin).toEqual({ 'beat-ledger': 'dist/cli/beat-ledger.js' });
});

test('needs nothing but itself: every known answer agrees in a folder without packages', () => {
  const { status, stdout } = spawnSync(program, ['self-check', '--json'], { cwd: outDir, encoding: 'utf8' });
  expect(status).toBe(0);
  expect(JSON.parse(stdout)).toMatchObject({ summary: expect.stringMatching(/^All \d+ examples agree\.$/) });
});

// source: common practice, a program whose reader has had enough ends without a word, with 128 + SIGPIPE
test('a reader that closes the pipe is no error', async () => {
  const child = spawn(program, ['schema'], { stdio: ['ignore', 'pipe', 'pipe'] });
  child.stdout.destroy();
  let said = '';
  child.stderr.on('data', (text: Buffer) => void (said += text.toString()));
  const code = await new Promise(resolve => void child.on('close', resolve));
  expect({ code, said }).toEqual({ code: 141, said: '' });
});

test('refuses with exit code 2, in one line', () => {
  const { status, stderr } = spawnSync(program, ['scroe'], { encoding: 'utf8' });
  expect(status).toBe(2);
  expect(stderr).toMatch(/^error: there is no command scroe.*score.*\n$/);
});
