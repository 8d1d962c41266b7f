import { expect, test } from 'vitest';
import { fCdf, fQuantile, normalCdf, normalQuantile, tCdf, tQuantile } from '../../../../src/core/score/distributions';
import { regularizedBeta } from '../../../../src/core/score/incomplete-beta';
import reference from '../../../reference/distributions/distributions.json';

/** Largest relative error of `compute` over rows of [arguments..., expected]; below 1e-9 it is relative to 1e-9. */
function worstRelativeError(rows: readonly (readonly number[])[], compute: (...args: number[]) => number): number {
  expect(rows.length).toBeGreaterThan(0);
  return Math.max(
    ...rows.map(row => {
      const expected = row.at(-1)!;
      return Math.abs(compute(...row.slice(0, -1)) - expected) / Math.max(Math.abs(expected), 1e-9);
    }),
  );
}

// source: SciPy 1.10, scipy.stats and scipy.special (tests/reference/distributions)
test.each([
  ['normalCdf', reference.normalCdf, normalCdf, 1e-13],
  ['normalQuantile', reference.normalQuantile, normalQuantile, 1e-14],
  ['regularizedBeta', reference.regularizedBeta, regularizedBeta, 1e-11],
  ['tCdf', reference.tCdf, tCdf, 1e-11],
  ['tQuantile', reference.tQuantile, tQuantile, 1e-9],
  ['fCdf', reference.fCdf, fCdf, 1e-11],
  ['fQuantile', reference.fQuantile, fQuantile, 1e-9],
] as const)('%s agrees with SciPy', (_name, rows, compute, tolerance) => {
  expect(worstRelativeError(rows, compute as (...args: number[]) => number)).toBeLessThan(tolerance);
});

// source: definition, the distribution is symmetric about 0
test('tQuantile is odd about the median', () => {
  expect(tQuantile(0.5, 7)).toBe(0);
  expect(tQuantile(0.025, 7)).toBe(-tQuantile(0.975, 7));
});

// source: SciPy 1.10, scipy.stats.norm.cdf; the far tail keeps its relative precision
test('normalCdf in the far tail', () => {
  const [z, expected] = reference.normalCdf[0]!;
  expect(normalCdf(z!) / expected!).toBeCloseTo(1, 10);
});

test('refuses probabilities outside (0, 1)', () => {
  for (const p of [0, 1, -0.1, Number.NaN]) {
    expect(() => normalQuantile(p)).toThrow(RangeError);
    expect(() => tQuantile(p, 3)).toThrow(RangeError);
    expect(() => fQuantile(p, 3, 4)).toThrow(RangeError);
  }
});
