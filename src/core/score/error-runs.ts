import { lowerBound, type Marks } from '../marks/markset';
import { exactInterval } from './effective-size';
import type { LostStretch } from './lost';
import type { Interval } from './result';

/** Mistakes with at most this many right intervals between them count as one run. */
const mostRightBetween = 10;
/**
 * What runs look like before any has been seen, so that few of them are not taken for all there is: as many runs, each of
 * that many intervals. Own choice by simulation (tests/reference/bootstrap/segment-coverage.ts).
 */
const priorRuns = 5;
const priorLength = 6;

/** Variant and sources, for the report. */
export const errorRunsMethod = `exact binomial interval (Clopper & Pearson, Biometrika 1934;26:404) at the effective number of intervals: their number over the mean length of the runs of mistakes, each weighted by its length (a run: mistakes with at most ${mostRightBetween} right intervals between them; ${priorRuns} runs of ${priorLength} are added)`;

/**
 * Lengths of the runs of mistakes of one segment, in wrong and lost intervals. `wrong`: the first beats (indices into
 * `beats`) of its wrong intervals, ascending; lost stretches as scored, in time order.
 */
export function errorRuns(beats: Marks, wrong: ArrayLike<number>, lost: readonly LostStretch[]): number[] {
  const mistakes = [
    ...Array.from(wrong, at => ({ at, length: 1 })),
    ...lost.map(s => ({ at: lowerBound(beats, s.start), length: s.intervals ?? 0 })),
  ].sort((a, b) => a.at - b.at);
  const runs: number[] = [];
  let last = Number.NEGATIVE_INFINITY;
  for (const { at, length } of mistakes) {
    if (at - last - 1 <= mostRightBetween) runs[runs.length - 1]! += length;
    else runs.push(length);
    last = at;
  }
  return runs;
}

/** Intervals that one run of mistakes stands for: the variance of their number over what independent ones would have. */
export function designEffect(runs: readonly number[]): number {
  let squares = priorRuns * priorLength;
  let sum = priorRuns;
  for (const length of runs) {
    squares += length * length;
    sum += length;
  }
  return Math.max(1, squares / sum);
}

/** Interval of a share of right intervals by `errorRunsMethod`, as fractions; null when `total` is 0. */
export function runsInterval(right: number, total: number, runs: readonly number[], level = 0.95): Interval | null {
  if (total === 0) return null;
  const effect = Math.min(total, designEffect(runs));
  return exactInterval(right / effect, total / effect, level);
}
