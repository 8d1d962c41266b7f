/**
 * Density of RR intervals around a place, learnt from intervals between beats that can be read: a kernel estimate on
 * the logarithm, as intervals spread in proportion, on a broad floor for what has not been seen yet.
 * Source: kernel density estimate, Silverman 1986, Density Estimation, ch. 2 (kernel width and floor are our own).
 */
/** Standard deviation of the kernel, as a share of the interval. */
const bandwidth = 0.05;
/** Bounds of the floor, s: ventricles are refractory for 200 ms and more. */
const shortestS = 0.2;
export const longestS = 3.5;
/** Bins of the logarithm for each kernel width. */
const binsPerWidth = 4;
const binWidth = bandwidth / binsPerWidth;
const binCount = Math.ceil(Math.log(longestS / shortestS) / binWidth);
const reach = 4 * binsPerWidth;
const kernel = Float64Array.from(
  { length: 2 * reach + 1 },
  (_, k) => Math.exp(-0.5 * ((k - reach) / binsPerWidth) ** 2) / (bandwidth * Math.sqrt(2 * Math.PI)),
);

export interface TimedInterval {
  /** When, in any unit of time, and how long, s. */
  readonly at: number;
  readonly rr: number;
}

export interface RhythmDensity {
  /** Log of the density over its peak, by bins of the logarithm of the interval. */
  readonly log: Float32Array;
  /** Log of the peak, per second. */
  readonly logPeak: number;
}

/** The bin of each interval of 0, 1, 2 ... steps up to the longest; -1 below the shortest. */
export function intervalBins(stepS: number): Int16Array {
  return Int16Array.from({ length: Math.floor(longestS / stepS) + 1 }, (_, k) => binOf(k * stepS));
}

function binOf(rr: number): number {
  return rr < shortestS ? -1 : Math.min(binCount - 1, Math.floor(Math.log(rr / shortestS) / binWidth));
}

/**
 * Density at time `at`: intervals count less the further away they are, by a factor e for each
 * `memory`. `floorWeight` is that of all intervals together that have not been seen.
 */
export function rhythmDensity(
  intervals: readonly TimedInterval[],
  at: number,
  memory: number,
  floorWeight: number,
): RhythmDensity {
  const weights = new Float64Array(binCount);
  let total = 0;
  for (const v of intervals) {
    const bin = binOf(v.rr);
    if (bin < 0 || v.rr > longestS) continue;
    const weight = Math.exp(-Math.abs(v.at - at) / memory);
    weights[bin]! += weight;
    total += weight;
  }
  const floor = total > 0 ? floorWeight : 1;
  const density = new Float64Array(binCount).fill(floor / Math.log(longestS / shortestS));
  for (let b = 0; b < binCount; b++) {
    if (weights[b] === 0) continue;
    const weight = ((1 - floor) * weights[b]!) / total;
    const hi = Math.min(binCount - 1, b + reach);
    for (let k = Math.max(0, b - reach); k <= hi; k++) density[k]! += weight * kernel[k - b + reach]!;
  }
  const log = new Float32Array(binCount);
  let logPeak = Number.NEGATIVE_INFINITY;
  for (let b = 0; b < binCount; b++) {
    // From the density on the logarithm to that on time.
    log[b] = Math.log(density[b]!) - (Math.log(shortestS) + (b + 0.5) * binWidth);
    logPeak = Math.max(logPeak, log[b]!);
  }
  for (let b = 0; b < binCount; b++) log[b]! -= logPeak;
  return { log, logPeak };
}
