import { existsSync, mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { labStoreCommand } from '../../../src/cli/lab-store/lab-store';
import { runCommand } from '../../../src/cli/run';
import { scratch } from './run';

// What is refused leaves nothing behind; the servers themselves are tried in tests/remote.

let place: ReturnType<typeof scratch>;
beforeEach(() => {
  place = scratch();
  mkdirSync(place.path('page'));
  writeFileSync(join(place.path('page'), 'index.html'), '');
});
afterEach(() => place.remove());

async function refusal(...args: string[]): Promise<string> {
  let said = '';
  const nothing = () => undefined;
  const output = { print: nothing, note: nothing, doubt: nothing, fail: (text: string) => void (said += text) };
  const code = await runCommand(labStoreCommand, [...args, '--page', place.path('page')], output);
  expect(code).toBe(2);
  return said;
}

test.each([
  [['begin'], 'lab-store start, person or stop, not begin'],
  [['start'], 'nobody has an account yet'],
  [['start', '--engine', 'nginx'], 'nobody has an account yet'],
  [['start', '--port', '80'], '--port needs a number of at least 1024'],
  [['person', '--person', 'S1', '--role', 'king'], '--role is one of'],
])('%j makes no folder', async (args, words) => {
  expect(await refusal(...args, '--dir', place.path('store'))).toContain(words);
  expect(existsSync(place.path('store'))).toBe(false);
});
