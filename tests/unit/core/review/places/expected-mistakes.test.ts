import { expect, test } from 'vitest';
import { expectedMistakes, type OpenPlace } from '../../../../../src/core/review/places/expected-mistakes';

const one = (chance: number, more: Partial<OpenPlace> = {}): OpenPlace => {
  return { chance, count: 1, group: 'noise', spread: 0, ...more };
};

test('the expected number is the sum of the chances (definition)', () => {
  expect(expectedMistakes([one(0.5), one(0.25), one(0.25)]).expected).toBe(1);
  expect(expectedMistakes([one(0.25, { count: 8 })]).expected).toBe(2);
  expect(expectedMistakes([])).toEqual({ expected: 0, low: 0, high: 0 });
});

// SciPy, binom.ppf([0.05, 0.95], n, p): tests/reference/expected-mistakes/ranges.py
test.each([
  [10, 0.5, 2, 8],
  [40, 0.1, 1, 7],
  [2000, 0.5, 963, 1037],
  [30, 0.97, 27, 30],
])('the range of %d independent places of one chance, %d, is binomial', (count, chance, low, high) => {
  expect(expectedMistakes([one(chance, { count })])).toEqual({ expected: count * chance, low, high });
});

// SciPy, nbinom.ppf([0.05, 0.95], n, n / (n + m)): tests/reference/expected-mistakes/ranges.py
test.each([
  [100, 0.02, 1, 0, 7],
  [1000, 0.02, 1, 1, 60],
  [1000, 0.05, 2, 0, 235],
])('%d places of chance %d that go together have a negative binomial range', (count, chance, spread, low, high) => {
  const range = expectedMistakes([one(chance, { count, spread })]);
  expect([range.low, range.high]).toEqual([low, high]);
});

test('places of one group go together, those of two do not', () => {
  const places = (groups: readonly string[]) => groups.map(group => one(0.1, { count: 50, group, spread: 1 }));
  const together = expectedMistakes(places(['shape', 'shape']));
  const apart = expectedMistakes(places(['shape', 'noise']));
  expect(together.expected).toBe(apart.expected);
  expect(together.high).toBeGreaterThan(apart.high);
});

test('it is never said that none is left, nor more than there are places, while a place is open', () => {
  expect(expectedMistakes([one(0.001)])).toEqual({ expected: 0.001, low: 0, high: 1 });
  expect(expectedMistakes([one(0.3, { count: 3, spread: 3 })]).high).toBe(3);
  for (const chance of [0, 1]) {
    const { low, high } = expectedMistakes([one(chance, { count: 5 })]);
    expect([low, high]).toEqual(chance === 0 ? [0, 1] : [5, 5]);
  }
});

test('more expected mistakes never give a lower range', () => {
  let before = expectedMistakes([one(0.001, { count: 500, spread: 1.3 })]);
  for (let chance = 0.002; chance < 0.5; chance *= 1.4) {
    const now = expectedMistakes([one(chance, { count: 500, spread: 1.3 })]);
    expect(now.low).toBeGreaterThanOrEqual(before.low);
    expect(now.high).toBeGreaterThanOrEqual(before.high);
    expect(now.high).toBeGreaterThanOrEqual(Math.floor(now.expected));
    before = now;
  }
});
