import { type Computed, notComputable } from '../score/result';

/** One participant's values on the common occasions: by the one and by the other; NaN where one has none. */
export interface Occasions {
  readonly x: ArrayLike<number>;
  readonly y: ArrayLike<number>;
}

/**
 * Concordance for repeated measures (King, Chinchilli & Carrasco, Stat Med 2007;26:3095), every occasion weighing the
 * same and only with itself (their D the unit matrix): sum over occasions of 2 cov(x, y) over the sum of
 * var(x) + var(y) + (mean x - mean y)^2, moments over participants with divisor n - 1. Occasions count where both have a
 * value of at least three participants. n = participants on the best-covered occasion.
 */
export function repeatedConcordance(participants: readonly Occasions[]): Computed {
  const occasions = participants.reduce((most, { x, y }) => Math.max(most, Math.min(x.length, y.length)), 0);
  const sums = { above: 0, below: 0, most: 0 };
  for (let k = 0; k < occasions; k++) addOccasion(participants, k, sums);
  const { above, below, most } = sums;
  if (most === 0) return notComputable('needs three participants with both values on one occasion');
  if (!(below > 0)) return notComputable('all values are the same');
  return { value: above / below, n: most };
}

/** Plain loops: a bootstrap comes here hundreds of thousands of times. */
function addOccasion(
  participants: readonly Occasions[],
  k: number,
  sums: { above: number; below: number; most: number },
) {
  let [n, sx, sy] = [0, 0, 0];
  for (const { x, y } of participants) {
    if (!Number.isFinite(x[k]) || !Number.isFinite(y[k])) continue;
    n++;
    sx += x[k]!;
    sy += y[k]!;
  }
  if (n < 3) return;
  const mx = sx / n;
  const my = sy / n;
  for (const { x, y } of participants) {
    if (!Number.isFinite(x[k]) || !Number.isFinite(y[k])) continue;
    const [dx, dy] = [x[k]! - mx, y[k]! - my];
    sums.above += (2 * dx * dy) / (n - 1);
    sums.below += (dx * dx + dy * dy) / (n - 1);
  }
  sums.below += (mx - my) ** 2;
  sums.most = Math.max(sums.most, n);
}
