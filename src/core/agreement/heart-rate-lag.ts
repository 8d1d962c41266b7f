import { slidingQuantiles } from '../moments';

/** Settings of the coarse search: heart rate sampled once a second, lags to 10 min and a little beyond. */
const rateHz = 1;
const maxLagSeconds = 610;
const trendSeconds = 61;
const minOverlapSeconds = 90;

/**
 * Offsets (time in B minus time in A, s) at which the two heart-rate courses agree best, best first: normalized
 * cross-correlation of the detrended RR course over whole-second lags, local maxima only.
 * `a`, `b`: beat times in s, increasing.
 */
export function coarseOffsets(a: Float64Array, b: Float64Array, count: number): number[] {
  const x = rrCourse(a);
  const y = rrCourse(b);
  const startLag = Math.round((b[0]! - a[0]!) * rateHz);
  const reach = maxLagSeconds * rateHz;
  const scores = new Float64Array(2 * reach + 1);
  const first = summed(x);
  const second = summed(y);
  for (let lag = -reach; lag <= reach; lag++) scores[lag + reach] = correlationAt(first, second, lag - startLag);
  const peaks: number[] = [];
  for (let i = 0; i < scores.length; i++) {
    const here = scores[i]!;
    if (here > 0 && here >= (scores[i - 1] ?? -1) && here >= (scores[i + 1] ?? -1)) peaks.push(i);
  }
  peaks.sort((p, q) => scores[q]! - scores[p]! || p - q);
  const fraction = b[0]! - a[0]! - startLag / rateHz;
  return peaks.slice(0, count).map(i => (i - reach) / rateHz + fraction);
}

/** RR in s once a second from the first beat, without long and short intervals, less a moving mean of a minute. */
function rrCourse(beats: Float64Array): Float64Array {
  const n = Math.max(1, Math.floor((beats.at(-1)! - beats[0]!) * rateHz));
  const sums = new Float64Array(n);
  const counts = new Float64Array(n);
  const intervals = new Float64Array(beats.length - 1);
  for (let i = 0; i < intervals.length; i++) intervals[i] = beats[i + 1]! - beats[i]!;
  // Ten intervals on each side: with a third of them doubled the median still is a single one.
  const [medians] = slidingQuantiles(intervals, 21, [0.5]);
  for (let i = 1; i < beats.length; i++) {
    const rr = intervals[i - 1]!;
    const usual = medians![i - 1]!;
    if (rr < 0.75 * usual || rr > 1.25 * usual) continue;
    const from = Math.max(0, Math.floor((beats[i - 1]! - beats[0]!) * rateHz));
    for (let t = from; t < Math.min(n, Math.ceil((beats[i]! - beats[0]!) * rateHz)); t++) {
      sums[t]! += rr;
      counts[t]!++;
    }
  }
  const course = sums.map((s, t) => (counts[t]! > 0 ? s / counts[t]! : Number.NaN));
  return detrended(filled(course));
}

function filled(course: Float64Array): Float64Array {
  let last = course.find(v => !Number.isNaN(v)) ?? 0;
  return course.map(v => (Number.isNaN(v) ? last : (last = v)));
}

function detrended(course: Float64Array): Float64Array {
  const half = Math.floor((trendSeconds * rateHz) / 2);
  const sums = new Float64Array(course.length + 1);
  for (let i = 0; i < course.length; i++) sums[i + 1] = sums[i]! + course[i]!;
  return course.map((v, i) => {
    const low = Math.max(0, i - half);
    const high = Math.min(course.length, i + half + 1);
    return v - (sums[high]! - sums[low]!) / (high - low);
  });
}

/** A course with the sums of its values and of their squares up to each place. */
interface Summed {
  readonly course: Float64Array;
  readonly sums: Float64Array;
  readonly squares: Float64Array;
}

function summed(course: Float64Array): Summed {
  const sums = new Float64Array(course.length + 1);
  const squares = new Float64Array(course.length + 1);
  for (let i = 0; i < course.length; i++) {
    sums[i + 1] = sums[i]! + course[i]!;
    squares[i + 1] = squares[i]! + course[i]! * course[i]!;
  }
  return { course, sums, squares };
}

/** Pearson correlation of x[i] and y[i + shift] over their overlap; -1 where that is too short. */
function correlationAt({ course: x, ...ofX }: Summed, { course: y, ...ofY }: Summed, shift: number): number {
  const low = Math.max(0, -shift);
  const high = Math.min(x.length, y.length - shift);
  const n = high - low;
  if (n < minOverlapSeconds * rateHz) return -1;
  let sxy = 0;
  for (let i = low; i < high; i++) sxy += x[i]! * y[i + shift]!;
  const sx = ofX.sums[high]! - ofX.sums[low]!;
  const sy = ofY.sums[high + shift]! - ofY.sums[low + shift]!;
  const sxx = ofX.squares[high]! - ofX.squares[low]!;
  const syy = ofY.squares[high + shift]! - ofY.squares[low + shift]!;
  const spread = (sxx - (sx * sx) / n) * (syy - (sy * sy) / n);
  // A short overlap reaches a high correlation by chance, so weigh by its significance.
  return spread > 0 ? ((sxy - (sx * sy) / n) / Math.sqrt(spread)) * Math.sqrt(n) : -1;
}
