import { describe, expect, test } from 'vitest';
import stored from '../../../reference/sample/coverage.json' with { type: 'json' };

// Source: tests/reference/sample/coverage.ts, 1,000 draws a case; costs published with the design of the method.

/** Stretches of 10 s until the interval is 1, 0.5 and 0.2 points on either side, of 8,688. */
const published: Readonly<Record<number, readonly number[]>> = {
  0.999: [316, 646, 1569],
  0.99: [373, 812, 2157],
  0.97: [558, 1454, 5008],
  0.9: [1645, 4065, 7931],
};

describe.each(stored.qualities)('in 24 simulated hours of quality $wanted', ({ wanted, quality, scores }) => {
  test('the planted quality is the one meant', () => {
    expect(Math.abs(quality - wanted)).toBeLessThan(0.001);
  });

  test.each(Object.entries(scores))('the interval by a %s score holds the truth all the way', (_, { draws, held }) => {
    expect(draws).toBe(1000);
    expect(held).toBeGreaterThanOrEqual(0.95);
  });

  test('it takes as many stretches as published, within 15 %', () => {
    for (const [k, n] of published[wanted]!.entries()) {
      expect(Math.abs(scores.good.stretches[k]! / n - 1)).toBeLessThan(0.15);
    }
  });
});
