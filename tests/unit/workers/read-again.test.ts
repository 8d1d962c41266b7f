import { describe, expect, test } from 'vitest';
import type { ReviewedSession } from '../../../src/core/review/session';
import { isSameData, ReadAgain } from '../../../src/workers/read-again';

const session = (id: string, marks: readonly number[]) =>
  ({
    session: { id, recordings: [{ detected: Int32Array.from(marks), gaps: [{ start: 1, end: 2 }] }] },
    logs: [{ header: { rater: 'R1' }, entries: [{ seq: 0, note: null }] }],
  }) as unknown as ReviewedSession;

// source: definition; every way in which two stored sessions may differ
describe('sessions read again', () => {
  test('are those read before where nothing has changed', () => {
    const read = new ReadAgain();
    const [a, b] = read.same([session('a', [1, 2]), session('b', [3])]);
    const [again, changed] = read.same([session('a', [1, 2]), session('b', [4])]);
    expect(again).toBe(a);
    expect(changed).not.toBe(b);
    expect(changed).toEqual(session('b', [4]));
    expect(read.same([session('b', [4])])[0]).toBe(changed);
    expect(read.same([session('a', [1, 2])])[0]).not.toBe(a);
  });

  test.each([
    [{ a: 1 }, { a: 2 }],
    [{ a: 1 }, { b: 1 }],
    [{ a: 1 }, { a: 1, b: undefined }],
    [{ a: undefined }, { b: 1 }],
    [[1, 2], [1]],
    [[1], { 0: 1 }],
    [Int32Array.of(1, 2), Int32Array.of(1, 3)],
    [Int32Array.of(1, 2), Int32Array.of(1)],
    [Int32Array.of(1), Float64Array.of(1)],
    [null, {}],
    ['1', 1],
    [new Map([[1, 2]]), new Map([[1, 3]])],
    [new Date(1), new Date(2)],
    [0, -0],
  ])('%o is not %o', (a, b) => {
    expect(isSameData(a, b)).toBe(false);
    expect(isSameData(b, a)).toBe(false);
    expect(isSameData({ deep: [a] }, { deep: [b] })).toBe(false);
  });

  test.each([[{ a: [1, { b: null }] }], [Float64Array.of(Number.NaN, 1)], [undefined], ['x']])(
    '%o is itself',
    value => {
      expect(isSameData(value, structuredClone(value))).toBe(true);
    },
  );
});
