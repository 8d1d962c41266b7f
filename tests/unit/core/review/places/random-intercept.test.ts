import { expect, test } from 'vitest';
import { conditional, estimateEffect, overEffect } from '../../../../../src/core/review/places/random-intercept';

const unknown = (spread: number) => ({ shift: 0, spread });

test('before anything is known a chance stays as it was (definition)', () => {
  for (const chance of [0.001, 0.1, 0.5, 0.97])
    expect(overEffect(conditional(chance, 1.3), unknown(1.3))).toBeCloseTo(chance, 9);
});

// Gauss-Hermite quadrature: tests/reference/expected-mistakes/ranges.py; the closed form is an approximation.
test.each([
  [-3, 1.3, 0.0847],
  [-5, 2, 0.0322],
  [1, 1.3, 0.6809],
])('the mean chance over recordings at log-odds %d is near the integral', (logOdds, spread, mean) => {
  const odds = (p: number) => p / (1 - p);
  expect(Math.abs(Math.log(odds(overEffect(logOdds, unknown(spread))) / odds(mean)))).toBeLessThan(0.2);
});

test('the shift is the most likely one (SciPy, minimize_scalar: tests/reference/expected-mistakes/ranges.py)', () => {
  expect(estimateEffect(new Array(40).fill(-3), 6, 1.3).shift).toBeCloseTo(1.12803, 4);
});

test('mistakes raise the log-odds of their group, right marks lower them, and what is not known shrinks', () => {
  const logOdds = new Array(200).fill(-2);
  const [more, fewer] = [estimateEffect(logOdds, 80, 1.3), estimateEffect(logOdds, 0, 1.3)];
  expect(more.shift).toBeGreaterThan(1);
  expect(fewer.shift).toBeLessThan(-1);
  expect(more.spread).toBeLessThan(fewer.spread);
  expect(fewer.spread).toBeLessThan(1.3);
});

test('without a decision, or with all certain ones as expected, nothing moves', () => {
  expect(estimateEffect([], 0, 2)).toEqual(unknown(2));
  expect(Math.abs(estimateEffect([12, 12, -12], 2, 1.3).shift)).toBeLessThan(0.01);
});
