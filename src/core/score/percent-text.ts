import type { Interval } from './result';

/**
 * A percentage with so many places. 100 and 0 are shown of nothing less and of nothing more: one mistake in 100,000
 * intervals is not none.
 */
export function percentText(percent: number, places: number): string {
  const text = percent.toFixed(places);
  const step = 10 ** -places;
  // Nearer than this is rounding of the arithmetic.
  if (Number(text) >= 100 && percent < 100 - 1e-9) return (100 - step).toFixed(places);
  if (Number(text) === 0 && percent > 1e-9) return step.toFixed(places);
  return text;
}

/**
 * Both ends of an interval in percent, rounded so that a value in it stays in it as `percentText` has it: the lower end is
 * 100 of nothing less, the upper end 0 of nothing more.
 */
export function percentLimits([low, high]: Interval, places: number): [string, string] {
  return [
    low > 50 ? percentText(low, places) : low.toFixed(places),
    high < 50 ? percentText(high, places) : high.toFixed(places),
  ];
}
