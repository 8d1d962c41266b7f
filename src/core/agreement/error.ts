import { type Computed, notComputable } from '../score/result';
import { allFinite, notANumber } from './finite';

/** Mean absolute error of `test` against `reference`, in their unit. */
export function meanAbsoluteError(test: ArrayLike<number>, reference: ArrayLike<number>): Computed {
  const n = pairs(test, reference);
  if (n === 0) return notComputable('no pair to compare');
  if (!allFinite(test, reference)) return notComputable(notANumber);
  let sum = 0;
  for (let i = 0; i < n; i++) sum += Math.abs(test[i]! - reference[i]!);
  return { value: sum / n, n };
}

/** Mean absolute percentage error: mean of 100 |test - reference| / |reference|, in percent of the reference. */
export function meanAbsolutePercentageError(test: ArrayLike<number>, reference: ArrayLike<number>): Computed {
  const n = pairs(test, reference);
  if (n === 0) return notComputable('no pair to compare');
  if (!allFinite(test, reference)) return notComputable(notANumber);
  let sum = 0;
  for (let i = 0; i < n; i++) {
    if (reference[i] === 0) return notComputable('a reference value is 0, so it has no percentage error');
    sum += Math.abs((test[i]! - reference[i]!) / reference[i]!);
  }
  return { value: (100 * sum) / n, n };
}

function pairs(test: ArrayLike<number>, reference: ArrayLike<number>): number {
  if (test.length !== reference.length) throw new RangeError(`${test.length} values against ${reference.length}`);
  return test.length;
}
