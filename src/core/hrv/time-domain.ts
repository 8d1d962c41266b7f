import { mean, standardDeviation } from '../moments';
import { type Computed, notComputable } from '../score/result';
import { type NnSeries, readableSeconds, successiveDifferences } from './nn';

/**
 * Time-domain measures after the Task Force of the ESC and NASPE (Circulation 1996;93:1043), in ms unless named
 * otherwise. Standard deviations divide by n - 1. Successive differences are taken only across intervals that share a
 * beat, and pNN50 is their share over 50 ms (not the share of all intervals).
 */
export interface TimeDomain {
  readonly meanNnMs: Computed;
  readonly sdnnMs: Computed;
  readonly sdannMs: Computed;
  readonly rmssdMs: Computed;
  readonly sdsdMs: Computed;
  readonly nn50: Computed;
  readonly pnn50Percent: Computed;
  readonly triangularIndex: Computed;
  /** 60000 / mean NN. */
  readonly meanHeartRateBpm: Computed;
  /** 60000 / longest NN. */
  readonly minHeartRateBpm: Computed;
  /** 60000 / shortest NN. */
  readonly maxHeartRateBpm: Computed;
}

/** Fewest intervals that a mean or an extreme is taken of: some ten seconds (own choice). */
const leastIntervals = 10;
/** Fewest intervals or successive differences that a spread is taken of: some half a minute (own choice). */
export const leastDifferences = 30;
/** Least readable time for the triangular index: 20 min (Task Force 1996, geometric methods). */
const triangularIndexSeconds = 1200;
/** A five-minute block enters SDANN when half of it is readable (own choice). */
const sdannBlockSeconds = 300;

export function timeDomain(series: NnSeries): TimeDomain {
  const nn = series.intervalsMs;
  const n = nn.length;
  const differences = successiveDifferences(series);
  const m = differences.length;
  // Differences are whole samples: what exceeds 50 ms only by rounding does not exceed it.
  let over = 0;
  for (let i = 0; i < m; i++) if (Math.abs(differences[i]!) > 50 + 1e-6) over++;
  let [shortest, longest] = [Number.POSITIVE_INFINITY, 0];
  for (let i = 0; i < n; i++) {
    if (nn[i]! < shortest) shortest = nn[i]!;
    if (nn[i]! > longest) longest = nn[i]!;
  }
  const from = (least: number, compute: () => number): Computed =>
    n >= least ? { value: compute(), n } : notComputable(tooFew(least, 'NN interval', n));
  const fromPairs = (compute: () => number) => ofDifferences(differences, compute);
  return {
    meanNnMs: from(leastIntervals, () => mean(nn)),
    sdnnMs: from(leastDifferences, () => standardDeviation(nn)),
    sdannMs: sdann(series),
    rmssdMs: rmssdOf(differences),
    sdsdMs: fromPairs(() => standardDeviation(differences)),
    nn50: fromPairs(() => over),
    pnn50Percent: fromPairs(() => (100 * over) / m),
    triangularIndex: triangularIndex(series),
    meanHeartRateBpm: from(leastIntervals, () => 60000 / mean(nn)),
    minHeartRateBpm: from(leastIntervals, () => 60000 / longest),
    maxHeartRateBpm: from(leastIntervals, () => 60000 / shortest),
  };
}

/** RMSSD alone, as in `timeDomain`. */
export function rmssd(series: NnSeries): Computed {
  return rmssdOf(successiveDifferences(series));
}

function rmssdOf(differences: Float64Array): Computed {
  return ofDifferences(differences, () => {
    let squares = 0;
    for (let i = 0; i < differences.length; i++) squares += differences[i]! * differences[i]!;
    return Math.sqrt(squares / differences.length);
  });
}

function ofDifferences({ length }: Float64Array, compute: () => number): Computed {
  if (length >= leastDifferences) return { value: compute(), n: length };
  return notComputable(tooFew(leastDifferences, 'difference of intervals that share a beat', length));
}

function tooFew(least: number, what: string, has: number): string {
  return has === 0 ? `no ${what}` : `needs ${least} ${what.replace(/(interval|difference)/, '$1s')}, has ${has}`;
}

/** SD of the mean NN of five-minute blocks, counted from the first interval. n = blocks. */
function sdann({ timesSeconds, intervalsMs }: NnSeries): Computed {
  const start = (timesSeconds[0] ?? 0) - (intervalsMs[0] ?? 0) / 1000;
  const sums: number[] = [];
  const counts: number[] = [];
  for (let i = 0; i < intervalsMs.length; i++) {
    const block = Math.floor((timesSeconds[i]! - start) / sdannBlockSeconds);
    sums[block] = (sums[block] ?? 0) + intervalsMs[i]!;
    counts[block] = (counts[block] ?? 0) + 1;
  }
  const means: number[] = [];
  for (let block = 0; block < sums.length; block++) {
    const sum = sums[block] ?? 0;
    if (sum >= 500 * sdannBlockSeconds) means.push(sum / counts[block]!);
  }
  if (means.length < 2) return notComputable('needs two five-minute blocks, each half readable');
  return { value: standardDeviation(means), n: means.length };
}

/** Number of NN intervals over the height of their histogram in bins of 1/128 s (7.8125 ms), bins starting at 0. */
function triangularIndex(series: NnSeries): Computed {
  const readable = readableSeconds(series);
  if (readable < triangularIndexSeconds) {
    return notComputable(
      `needs ${triangularIndexSeconds / 60} min of readable time, has ${(readable / 60).toFixed(1)}`,
    );
  }
  const bins = new Map<number, number>();
  let height = 0;
  for (let i = 0; i < series.intervalsMs.length; i++) {
    const bin = Math.floor((series.intervalsMs[i]! * 128) / 1000);
    const count = (bins.get(bin) ?? 0) + 1;
    bins.set(bin, count);
    height = Math.max(height, count);
  }
  return { value: series.intervalsMs.length / height, n: series.intervalsMs.length };
}
