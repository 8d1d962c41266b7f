import { normalQuantile } from './distributions';
import type { Interval } from './result';

/**
 * Wilson score interval of a proportion without continuity correction: method 3 of Newcombe, Stat Med 1998;17:857.
 * Fractions in [0, 1]; null when `total` is 0. Counts that are not whole, negative or out of order throw a RangeError.
 */
export function wilsonInterval(successes: number, total: number, level = 0.95): Interval | null {
  if (!Number.isSafeInteger(successes) || !Number.isSafeInteger(total) || successes < 0 || successes > total) {
    throw new RangeError(`not counts of a proportion: ${successes} of ${total}`);
  }
  if (total === 0) return null;
  const z = normalQuantile(0.5 + level / 2);
  const failures = total - successes;
  const centre = successes + (z * z) / 2;
  const half = z * Math.sqrt((successes * failures) / total + (z * z) / 4);
  const whole = total + z * z;
  return [successes === 0 ? 0 : (centre - half) / whole, failures === 0 ? 1 : (centre + half) / whole];
}
