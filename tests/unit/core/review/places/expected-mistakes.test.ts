import { expect, test } from 'vitest';
import { expectedMistakes } from '../../../../../src/core/review/places/expected-mistakes';

test('the expected number is the sum of the chances (definition)', () => {
  expect(expectedMistakes([0.5, 0.25, 0.25]).expected).toBe(1);
  expect(expectedMistakes([])).toEqual({ expected: 0, low: 0, high: 0 });
});

// SciPy 1.10, scipy.stats.nbinom.ppf([0.05, 0.95], n, n / (n + m)) with n = 1 / 0.49: tests/reference/expected-mistakes/ranges.py
test.each([
  [0.5, 0, 2],
  [3, 0, 8],
  [10, 1, 25],
  [60, 10, 143],
])('the range for %d expected is that of a negative binomial variable', (mean, low, high) => {
  expect(expectedMistakes([mean])).toEqual({ expected: mean, low, high });
});

test('more expected mistakes never give a lower range', () => {
  let before = expectedMistakes([0.1]);
  for (let m = 0.3; m < 200; m *= 1.4) {
    const now = expectedMistakes([m]);
    expect(now.low).toBeGreaterThanOrEqual(before.low);
    expect(now.high).toBeGreaterThanOrEqual(before.high);
    expect(now.high).toBeGreaterThanOrEqual(Math.floor(m));
    before = now;
  }
});
