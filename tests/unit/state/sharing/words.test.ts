import { expect, test } from 'vitest';
import { RemoteError } from '../../../../src/remote/remote-error';
import { remoteWords } from '../../../../src/state/sharing/lab-store';
import { StorageProblem } from '../../../../src/storage/problem';

test('what went wrong stands in a sentence of another, which has the full stop', () => {
  expect(remoteWords(new RemoteError('offline', 'GET study/'))).toBe('offline');
  expect(remoteWords(new Error('R1 rates and cannot settle as well.'))).toBe('R1 rates and cannot settle as well');
  expect(remoteWords(new StorageProblem('full', ''))).toMatch(/[^.]$/);
});
