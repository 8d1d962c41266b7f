import { describe, expect, it } from 'vitest';
import {
  insertionSort,
  medianAround,
  mediansAround,
  nthLargest,
  selected,
} from '../../../../src/core/detector/selection';
import { randomFrom } from '../../../../src/core/random';

const random = randomFrom('selection');
const values = (n: number) => Float32Array.from({ length: n }, () => random.integer(7) + random.integer(2) / 2);

/** By sorting: the middle value, or the mean of the two middle ones. */
function sortedMedian(of: Float32Array): number {
  const sorted = Float32Array.from(of).sort();
  return (sorted[(sorted.length - 1) >> 1]! + sorted[sorted.length >> 1]!) / 2;
}

describe('selection', () => {
  it('finds what sorting would put at a place, also from a place already known on', () => {
    for (let n = 1; n <= 40; n++) {
      const given = values(n);
      const sorted = Float32Array.from(given).sort();
      const scratch = Float32Array.from(given);
      for (let k = 0, from = 0; k < n; from = k, k += 1 + random.integer(4))
        expect(selected(scratch, n, k, from), `${n} values, place ${k}`).toBe(sorted[k]);
    }
  });

  it('sorts the first values and leaves the others', () => {
    const given = values(20);
    const out = Float32Array.from(given);
    insertionSort(out, 12);
    expect([...out]).toEqual([...given.slice(0, 12).sort(), ...given.slice(12)]);
  });

  it('gives the median around each place, clipped at the ends, one by one and all together', () => {
    for (const [n, reach] of [
      [1, 3],
      [2, 0],
      [5, 12],
      [40, 2],
      [60, 8],
      [80, 31],
    ] as const) {
      const given = values(n);
      const wanted = Array.from(given, (_, k) => sortedMedian(given.slice(Math.max(0, k - reach), k + reach + 1)));
      expect(Array.from(given, (_, k) => medianAround(given, k, reach))).toEqual(wanted);
      expect([...mediansAround(given, reach)]).toEqual(wanted);
    }
  });
});

describe('nth largest', () => {
  it('is what sorting puts there, also among equal ones, and reorders nothing', () => {
    for (let n = 1; n <= 80; n++) {
      const given = values(n);
      const before = given.slice();
      const sorted = given.slice().sort();
      for (let nth = 1; nth <= Math.min(16, n); nth++)
        expect(nthLargest(given, n, nth), `${nth} of ${n}`).toBe(sorted[n - nth]);
      expect(given).toEqual(before);
    }
    expect(() => nthLargest(new Float32Array(40), 40, 17)).toThrow('not the 17th');
  });
});
