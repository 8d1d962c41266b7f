import { describe, expect, test } from 'vitest';
import {
  joined,
  joinInto,
  lengthOf,
  median,
  quantiles,
  slidingQuantiles,
  sortedQuantile,
} from '../../../src/core/moments';
import { randomFrom } from '../../../src/core/random';

// source: the platform's own sort of a typed array, in the plainest form.
const plain = (values: Iterable<number>) => Float64Array.from(values).sort();

const random = randomFrom('moments');
const lists: Record<string, number[]> = {
  'one value': [3],
  'even and short': [4, 1, 3, 2],
  'odd and long': Array.from({ length: 101 }, () => random.between(-5, 5)),
  'even and long': Array.from({ length: 500 }, () => random.between(900, 901)),
  'few values, many ties': Array.from({ length: 400 }, () => random.integer(3)),
  'all alike': Array.from({ length: 64 }, () => 7),
  'sorted already': Array.from({ length: 200 }, (_, i) => i),
  'the other way round': Array.from({ length: 200 }, (_, i) => 200 - i),
  'one far from the rest': [...Array.from({ length: 300 }, () => random.between(0, 1)), 1e12],
  'sizes of every kind': Array.from({ length: 300 }, (_, i) => (i % 2 ? -1 : 1) * 10 ** (i % 40)),
  'next to each other': Array.from({ length: 90 }, (_, i) => 1 + (i % 7) * Number.EPSILON),
};

describe.each(Object.entries(lists))('%s', (_, values) => {
  test('quantiles are those of the sorted list, which stays as it was', () => {
    const given = Float64Array.from(values);
    const shares = [0, 0.001, 0.025, 0.25, 1 / 3, 0.5, 0.9, 0.975, 0.999, 1];
    expect(quantiles(given, shares)).toEqual(shares.map(p => sortedQuantile(plain(values), p)));
    expect(quantiles(given, [])).toEqual([]);
    expect(given).toEqual(Float64Array.from(values));
  });

  test('the median is that of the sorted list, which stays as it was', () => {
    const given = [...values];
    expect(median(given)).toBe(sortedQuantile(plain(values), 0.5));
    expect(given).toEqual(values);
  });

  test('a window that moves has the quantiles of its values', () => {
    for (const window of [1, 5, 21]) {
      const [low, middle] = slidingQuantiles(Float64Array.from(values), window, [0.25, 0.5]);
      for (const i of values.keys()) {
        const around = plain(values.slice(Math.max(0, i - (window >> 1)), i + (window >> 1) + 1));
        expect([low![i], middle![i]]).toEqual([sortedQuantile(around, 0.25), sortedQuantile(around, 0.5)]);
      }
    }
  });
});

test('what is no number is not lost: with one of them the median is that of a list with it at its end', () => {
  const values = Array.from({ length: 40 }, (_, i) => (i === 5 ? Number.NaN : i));
  expect(median(values)).toBe(sortedQuantile(plain(values), 0.5));
  expect(() => median([])).toThrow(RangeError);
});

// source: definition
test('lists are joined in their order, empty ones and all', () => {
  const parts = [[1, 2], [], [3]].map(values => Float64Array.from(values));
  expect(joined(parts)).toEqual(Float64Array.of(1, 2, 3));
  expect(joined([])).toEqual(new Float64Array(0));
  expect(lengthOf(parts)).toBe(3);
  expect(joinInto(new Int32Array(3), [Int32Array.of(7), Int32Array.of(8, 9)])).toEqual(Int32Array.of(7, 8, 9));
});

test('a quantile of the first values of a list looks at no others', () => {
  expect(sortedQuantile([1, 2, 3, 9], 0.5, 3)).toBe(2);
  expect(() => sortedQuantile([1, 2], 0.5, 0)).toThrow('quantile 0.5 of 0 values');
});
