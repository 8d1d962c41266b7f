import { describe, expect, test } from 'vitest';
import { wilsonExamples } from '../../../../src/core/known-answers/statistics';
import { wilsonInterval } from '../../../../src/core/score/wilson';

describe('Wilson score interval', () => {
  // source: Newcombe, Stat Med 1998;17:857, table I, method 3 (four decimals)
  test.each(wilsonExamples)('%i of %i', (successes, total, low, high) => {
    const interval = wilsonInterval(successes, total)!;
    expect(interval[0]).toBeCloseTo(low, 4);
    expect(interval[1]).toBeCloseTo(high, 4);
  });

  // source: definition; the interval of the failures mirrors that of the successes
  test('mirrors when successes and failures change places', () => {
    const [low, high] = wilsonInterval(7, 31, 0.9)!;
    const [mirrorLow, mirrorHigh] = wilsonInterval(24, 31, 0.9)!;
    expect(1 - mirrorHigh).toBeCloseTo(low, 14);
    expect(1 - mirrorLow).toBeCloseTo(high, 14);
  });

  test('ends at exactly 0 and 1, and at nothing for no trials', () => {
    expect(wilsonInterval(0, 300)![0]).toBe(0);
    expect(wilsonInterval(300, 300)![1]).toBe(1);
    for (let n = 1; n <= 500; n++) expect([wilsonInterval(0, n)![0], wilsonInterval(n, n)![1]]).toEqual([0, 1]);
    expect(wilsonInterval(0, 0)).toBeNull();
  });

  test.each([
    [3, 2],
    [-1, 2],
    [0.5, 2],
    [Number.NaN, 2],
  ])('refuses %d of %d', (successes, total) => {
    expect(() => wilsonInterval(successes, total)).toThrow(RangeError);
  });
});
