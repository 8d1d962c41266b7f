import { sortedQuantile } from '../../moments';
import { copyDraw, resampledCounts, type Times } from '../../score/bootstrap';
import { effectiveSizeDifference, effectiveSizeRatio, type Ratio } from '../../score/effective-size';
import { type Computed, notComputable } from '../../score/result';
import type { Pilot, PlanningSettings } from './planning';

/** The middle of so many is known to a few hundredths of itself. */
const studies = 100;

/**
 * Median width, in percentage points, of the interval that the tables of quality show first (see `effectiveSizeMethod` and
 * `effectiveDifferenceMethod`), in studies of so many of the volunteers at hand drawn with replacement. Of one pilot for its
 * quality, of two for their difference; n = volunteers of a study.
 */
export function shownWidth(
  pilots: readonly [Pilot] | readonly [Pilot, Pilot],
  volunteers: number,
  { level, seed }: Pick<PlanningSettings, 'level' | 'seed'>,
): Computed {
  const used = Array.from(pilots[0].whole, (_, i) => i).filter(i => pilots.every(p => p.whole[i]! > 0));
  if (used.length === 0 || volunteers < 2) return notComputable('needs two volunteers');
  const draws = resampledCounts(used.length, volunteers, studies, seed);
  const times = new Int32Array(used.length);
  const widths = new Float64Array(studies).map((_, study) => {
    copyDraw(draws, study, times);
    return 100 * widthOf(pilots, used, times, level);
  });
  return { value: sortedQuantile(widths.sort(), 0.5), n: volunteers };
}

function widthOf(pilots: readonly Pilot[], used: readonly number[], times: Times, level: number): number {
  const [a, b] = pilots.map(p => drawn(p, used, times));
  const estimate = b ? effectiveSizeDifference(a!, b, level) : effectiveSizeRatio(a!.parts, a!.wholes, level);
  if (estimate.value === null || !estimate.interval) return Number.POSITIVE_INFINITY;
  return estimate.interval[1] - estimate.interval[0];
}

function drawn({ right, whole }: Pilot, used: readonly number[], times: Times): Ratio {
  const all = used.flatMap((i, k) => Array.from({ length: times[k]! }, () => i));
  return { parts: all.map(i => right[i]!), wholes: all.map(i => whole[i]!) };
}
