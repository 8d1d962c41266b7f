import { standardDeviation } from '../moments';
import { type Computed, notComputable } from '../score/result';
import type { NnSeries } from './nn';
import { leastDifferences } from './time-domain';

/**
 * Spread of the Poincare plot across (SD1) and along (SD2) the line of identity, in ms, divisor n - 1, over pairs of
 * intervals that share a beat (Brennan, Palaniswami & Kamen, IEEE Trans Biomed Eng 2001;48:1342).
 */
export interface Poincare {
  readonly sd1Ms: Computed;
  readonly sd2Ms: Computed;
}

export function poincare({ intervalsMs, adjacent }: NnSeries): Poincare {
  const across = new Float64Array(intervalsMs.length);
  const along = new Float64Array(intervalsMs.length);
  let n = 0;
  for (let i = 1; i < intervalsMs.length; i++) {
    if (adjacent[i] !== 1) continue;
    across[n] = intervalsMs[i]! - intervalsMs[i - 1]!;
    along[n++] = intervalsMs[i]! + intervalsMs[i - 1]!;
  }
  if (n < leastDifferences) {
    const none = notComputable(`needs ${leastDifferences} pairs of successive NN intervals, has ${n}`);
    return { sd1Ms: none, sd2Ms: none };
  }
  const sd = (values: Float64Array): Computed => ({
    value: standardDeviation(values.subarray(0, n)) / Math.SQRT2,
    n,
  });
  return { sd1Ms: sd(across), sd2Ms: sd(along) };
}
