import { mean } from '../moments';
import { type Computed, notComputable } from '../score/result';
import type { NnSeries } from './nn';

const shortest = 4;
const longest = 16;
/** Eight boxes of the longest size (own choice). */
const leastIntervals = 8 * longest;

/**
 * Short-term scaling exponent alpha1 of detrended fluctuation analysis (Peng et al., Chaos 1995;5:82): slope of
 * log F(n) over log n for boxes of 4 to 16 beats, straight-line trend in each box, boxes side by side from the start.
 * Runs between breaks are analysed apart and their squares pooled, so that no box reaches across a break.
 */
export function dfaAlpha1(series: NnSeries): Computed {
  const runs = profiles(series);
  const n = runs.reduce((sum, run) => sum + run.length, 0);
  if (n < leastIntervals) {
    return notComputable(`needs ${leastIntervals} NN intervals in runs of ${longest} or more, has ${n}`);
  }
  const x: number[] = [];
  const y: number[] = [];
  for (let size = shortest; size <= longest; size++) {
    const fluctuation = meanSquare(runs, size);
    if (fluctuation < 1e-18) return notComputable('the intervals do not vary');
    x.push(Math.log(size));
    y.push(0.5 * Math.log(fluctuation));
  }
  return { value: slope(x, y), n };
}

/** Cumulative sums of the intervals less their overall mean, one for each run of at least `longest` intervals. */
function profiles({ intervalsMs, adjacent }: NnSeries): Float64Array[] {
  if (intervalsMs.length === 0) return [];
  const centre = mean(intervalsMs);
  const out: Float64Array[] = [];
  for (let from = 0; from < intervalsMs.length; ) {
    let to = from + 1;
    while (to < intervalsMs.length && adjacent[to] === 1) to++;
    if (to - from >= longest) {
      let sum = 0;
      out.push(intervalsMs.subarray(from, to).map(rr => (sum += rr - centre)));
    }
    from = to;
  }
  return out;
}

/** Mean squared residual about the straight line of each box. */
function meanSquare(runs: readonly Float64Array[], size: number): number {
  let squares = 0;
  let points = 0;
  for (const run of runs) {
    for (let start = 0; start + size <= run.length; start += size, points += size) {
      squares += residualSquares(run, start, size);
    }
  }
  return squares / points;
}

/** Of the box of `n` values from `start` on. */
function residualSquares(run: Float64Array, start: number, n: number): number {
  let sum = 0;
  for (let i = 0; i < n; i++) sum += run[start + i]!;
  const centre = sum / n;
  let syy = 0;
  let sxy = 0;
  for (let i = 0; i < n; i++) {
    const off = run[start + i]! - centre;
    syy += off * off;
    sxy += (i - (n - 1) / 2) * off;
  }
  return Math.max(0, syy - sxy ** 2 / ((n * (n * n - 1)) / 12));
}

function slope(x: readonly number[], y: readonly number[]): number {
  const mx = mean(x);
  const my = mean(y);
  const sxy = x.reduce((sum, v, i) => sum + (v - mx) * (y[i]! - my), 0);
  return sxy / x.reduce((sum, v) => sum + (v - mx) ** 2, 0);
}
