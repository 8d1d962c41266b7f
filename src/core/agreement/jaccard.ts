import { intersect, totalLength, union } from '../marks/spans';
import { type Computed, notComputable } from '../score/result';
import type { Span } from '../units';

/**
 * Jaccard index of two raters' spans: length marked by both over length marked by either (Jaccard, Bull Soc Vaudoise
 * Sci Nat 1901;37:547). 0 to 1; n = samples marked by either.
 */
export function spanJaccard(a: readonly Span[], b: readonly Span[]): Computed {
  const either = totalLength(union(a, b));
  if (either === 0) return notComputable('neither rater marked a span');
  return { value: totalLength(intersect(a, b)) / either, n: either };
}
