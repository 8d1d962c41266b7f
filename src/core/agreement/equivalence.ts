import { tCdf, tQuantile } from '../score/distributions';
import { type Interval, notComputable } from '../score/result';

/** Two one-sided tests of a bias against a margin. */
export interface Equivalence {
  readonly value: number;
  /** Participants. */
  readonly n: number;
  readonly margin: number;
  /** 90 % interval of the bias: equivalent at 5 % when it lies within the margin on both sides. */
  readonly interval90: Interval;
  /** The larger of the two one-sided p values. */
  readonly p: number;
  readonly equivalent: boolean;
}

export type EquivalenceResult = Equivalence | { readonly value: null; readonly reason: string };

/**
 * Schuirmann's two one-sided tests at 5 % (J Pharmacokinet Biopharm 1987;15:657) on participants' mean differences, each
 * participant once, so that pairs of one person are not taken for independent. `margin` > 0, in the unit of the values.
 */
export function equivalence(meanDifferences: ArrayLike<number>, margin: number | null): EquivalenceResult {
  if (margin === null) return notComputable('the study names no margin');
  const values = Array.from(meanDifferences).filter(Number.isFinite);
  const n = values.length;
  if (n < 2) return notComputable('needs two participants');
  const value = values.reduce((a, b) => a + b, 0) / n;
  const error = Math.sqrt(values.reduce((sum, v) => sum + (v - value) ** 2, 0) / (n - 1) / n);
  if (!(error > 0)) return notComputable('the participants do not differ');
  const half = tQuantile(0.95, n - 1) * error;
  const p = Math.max(1 - tCdf((value + margin) / error, n - 1), tCdf((value - margin) / error, n - 1));
  return { value, n, margin, interval90: [value - half, value + half], p, equivalent: p < 0.05 };
}
