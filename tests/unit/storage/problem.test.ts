import { describe, expect, test } from 'vitest';
import { FormatError } from '../../../src/formats/format-error';
import { asStorageProblem, StorageProblem } from '../../../src/storage/problem';
import { checkedName } from '../../../src/storage/signal-files';
import { Cancelled, jobOutcome, resolveOutcome } from '../../../src/workers/outcome';
import { buffersIn } from '../../../src/workers/worker-client';

describe('storage problems', () => {
  // source: names of exceptions in the Web IDL and IndexedDB standards
  test.each([
    ['QuotaExceededError', 'full'],
    ['SecurityError', 'denied'],
    ['ConstraintError', 'conflict'],
    ['VersionError', 'newer'],
    ['NoModificationAllowedError', 'blocked'],
    ['NotFoundError', 'gone'],
  ])('%s is told as %s with a remedy', (name, kind) => {
    const problem = asStorageProblem(new DOMException('words of the browser', name)) as StorageProblem;
    expect(problem).toBeInstanceOf(StorageProblem);
    expect(problem.kind).toBe(kind);
    expect(problem.message).toContain('words of the browser');
    expect(problem.remedy).not.toBe('');
  });

  test('a bug stays a bug', () => {
    const bug = new TypeError('x is undefined');
    expect(asStorageProblem(bug)).toBe(bug);
  });

  test.each(['..', '../x', 'a/b', '', '.hidden', 'a\\b'])('%j never becomes a file name', name => {
    expect(() => checkedName(name)).toThrow(RangeError);
  });
});

describe('failures between threads', () => {
  const errors = [
    new StorageProblem('full', 'disk'),
    new FormatError('a.edf', 'EDF', 'byte 8', 'no header.', 'Choose another file.'),
    new Cancelled(),
    new RangeError('not a sample index: -1'),
  ];
  test.each(errors)('$name arrives as it left', async error => {
    const outcome = structuredClone(await jobOutcome(() => Promise.reject(error)));
    expect(() => resolveOutcome(outcome)).toThrow(error.message);
    const back = await Promise.resolve()
      .then(() => resolveOutcome(outcome))
      .catch((e: Error) => e);
    expect(back).toMatchObject({ ...error, name: error.name });
    if (error.name !== 'RangeError') expect(back).toBeInstanceOf(error.constructor);
  });

  test('buffers are found once each, wherever they lie', () => {
    const shared = new ArrayBuffer(16);
    const value = {
      a: new Int16Array(shared, 0, 2),
      b: [new Float32Array(shared), { c: new Map([['d', new Uint8Array(3)]]) }],
      e: null,
      f: 'text',
    };
    expect(buffersIn(value).map(b => b.byteLength)).toEqual([16, 3]);
  });
});
