import { mean } from '../moments';
import type { NnSeries } from './nn';
import { type RrOutlier, rrOutliers } from './outliers';

/** How many intervals of a series do not look like those of a sinus rhythm. */
export interface IntervalCheck {
  readonly odd: number;
  /** Of all intervals; 0 where there are none. */
  readonly share: number;
}

/** An interval that differs this much from the one before is left out of most analyses of sinus rhythm (common practice). */
const jump = 0.2;

/**
 * Intervals of any odd class (see rrOutliers), and those that differ by more than 20 % from the one before: the classes
 * alone widen with the rhythm, so that in atrial fibrillation or bigeminy they find next to nothing.
 */
export function intervalCheck(
  { intervalsMs, adjacent }: Pick<NnSeries, 'intervalsMs' | 'adjacent'>,
  outliers: readonly RrOutlier[] = rrOutliers(intervalsMs),
): IntervalCheck {
  const flags = new Uint8Array(intervalsMs.length);
  for (const { index } of outliers) flags[index] = 1;
  for (let i = 1; i < flags.length; i++) {
    const before = intervalsMs[i - 1]!;
    if (adjacent[i] === 1 && Math.abs(intervalsMs[i]! - before) > jump * before) flags[i] = 1;
  }
  const share = flags.length > 0 ? mean(flags) : 0;
  return { odd: Math.round(share * flags.length), share };
}
