import { expect, test } from 'vitest';
import { percentLimits, percentText } from '../../../../src/core/score/percent-text';

// source: domain page, "never 0 %, 100 % or NaN by accident"
test.each([
  [100, 2, '100.00'],
  [(100 * 49_999) / 50_000, 2, '99.99'],
  [99.96, 1, '99.9'],
  [99.94, 1, '99.9'],
  [100 * (1 - 1e-16), 2, '100.00'],
  [0, 1, '0.0'],
  [(100 * 1) / 50_000, 2, '0.01'],
  [0.04, 1, '0.1'],
  [50.55, 1, '50.5'],
])('%f %% with %i places reads %s', (percent, places, text) => {
  expect(percentText(percent, places)).toBe(text);
});

test.each([
  [99.998, [99.997, 99.9991], 2, ['99.99', '100.00']],
  [0.002, [0.0001, 0.004], 2, ['0.00', '0.01']],
  [100, [99.2, 100], 1, ['99.2', '100.0']],
  [0, [0, 0.04], 1, ['0.0', '0.1']],
  [99.96, [99.955, 99.97], 1, ['99.9', '100.0']],
] as const)('%f %% is in its interval as both are shown', (percent, limits, places, shown) => {
  expect(percentLimits(limits, places)).toEqual(shown);
  const text = Number(percentText(percent, places));
  expect(Number(shown[0]) <= text && text <= Number(shown[1])).toBe(true);
});
