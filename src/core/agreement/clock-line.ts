import { medianSize } from '../moments';

/** B's clock as a line over A's: timeB = offset + (1 + drift) timeA. Drift is a plain fraction here. */
export interface ClockLine {
  readonly offset: number;
  readonly drift: number;
}

export interface BeatPairs {
  readonly a: Int32Array;
  readonly b: Int32Array;
}

/** Settings of the fine search, in s. Drift is searched a little beyond +-200 and +-1000 ppm so that an edge is seen as one. */
const binSeconds = 0.01;
export const usualDrift = 260e-6;
export const widestDrift = 1060e-6;
/** Lines further apart than this at the middle are rivals; nearer ones share the same pairs. */
const rivalSeconds = 0.25;

/** A line found by voting, with the votes of the best line elsewhere to judge it by. */
export interface Vote extends ClockLine {
  readonly votes: number;
  /** Most votes of a rival line. */
  readonly rivalVotes: number;
}

/**
 * Votes of all beat pairs within `reach` s of `offset` for lines through the middle of A: the drift grid is so fine that
 * no pair of the right line is more than a bin off (a Hough transform: Duda & Hart, Commun ACM 1972;15:11).
 */
export function voteForLine(
  a: Float64Array,
  b: Float64Array,
  offset: number,
  reach: number,
  maxDrift: number = usualDrift,
): Vote {
  const middle = (a[0]! + a.at(-1)!) / 2;
  const half = Math.max(1, (a.at(-1)! - a[0]!) / 2);
  const step = Math.min(maxDrift, binSeconds / half);
  // In bins, so that the many rounds below neither divide nor shift.
  const near = { offset, reach, furthest: reach + maxDrift * half, middle };
  const { timesInBins, gapsInBins } = pairsInBins(a, b, near);
  const size = Math.ceil((2 * reach) / binSeconds) + 3;
  const bins: Bins = [new Int32Array(size), new Int32Array(size), new Int32Array(size), new Int32Array(size)];
  const most = new Int32Array(size);
  let best = { bin: 0, drift: 0, votes: 0 };
  const drifts: number[] = [];
  for (let drift = -Math.ceil(maxDrift / step) * step; drift <= maxDrift + step / 2; drift += step) drifts.push(drift);
  for (let from = 0; from < drifts.length; from += bins.length) {
    castVotes(timesInBins, gapsInBins, drifts, from, bins);
    for (let k = 0; k < bins.length && from + k < drifts.length; k++) {
      const own = bins[k]!;
      for (let i = 1; i + 1 < size; i++) {
        const votes = own[i - 1]! + own[i]! + own[i + 1]!;
        if (votes > most[i]!) most[i] = votes;
        if (votes > best.votes) best = { bin: i, drift: drifts[from + k]!, votes };
      }
    }
  }
  const apart = Math.round(rivalSeconds / binSeconds);
  const rivalVotes = most.reduce((max, v, i) => (Math.abs(i - best.bin) > apart ? Math.max(max, v) : max), 0);
  const at = (best.bin + 0.5) * binSeconds - reach;
  return { offset: offset + at - best.drift * middle, drift: best.drift, votes: best.votes, rivalVotes };
}

type Bins = readonly [Int32Array, Int32Array, Int32Array, Int32Array];

/**
 * For four drifts at once, or those that are left: a pair's times are read once, and the processor need not wait for one
 * vote before it casts the next, which takes half as long.
 */
function castVotes(
  times: Float64Array,
  gaps: Float64Array,
  drifts: readonly number[],
  from: number,
  [first, second, third, fourth]: Bins,
): void {
  for (const bins of [first, second, third, fourth]) bins.fill(0);
  const size = first.length;
  const last = drifts.length - 1;
  const d1 = drifts[from]!;
  const d2 = drifts[Math.min(from + 1, last)]!;
  const d3 = drifts[Math.min(from + 2, last)]!;
  const d4 = drifts[Math.min(from + 3, last)]!;
  for (let i = 0; i < times.length; i++) {
    const time = times[i]!;
    const gap = gaps[i]!;
    const at1 = gap - d1 * time;
    if (at1 >= 0 && at1 < size) first[at1 | 0]!++;
    const at2 = gap - d2 * time;
    if (at2 >= 0 && at2 < size) second[at2 | 0]!++;
    const at3 = gap - d3 * time;
    if (at3 >= 0 && at3 < size) third[at3 | 0]!++;
    const at4 = gap - d4 * time;
    if (at4 >= 0 && at4 < size) fourth[at4 | 0]!++;
  }
}

interface Near {
  readonly offset: number;
  /** A gap of as much before the offset is bin 0. */
  readonly reach: number;
  /** Pairs within this of the offset are taken, in s. */
  readonly furthest: number;
  readonly middle: number;
}

/** Of each pair near the offset: A's time from the middle, and how far B's time is from A's time + offset. */
function pairsInBins(a: Float64Array, b: Float64Array, { offset, reach, furthest, middle }: Near) {
  const count = forPairs(a, b, offset, furthest, () => undefined);
  const timesInBins = new Float64Array(count);
  const gapsInBins = new Float64Array(count);
  let n = 0;
  forPairs(a, b, offset, furthest, (t, other) => {
    timesInBins[n] = (t - middle) / binSeconds;
    gapsInBins[n++] = (other - t - offset + reach) / binSeconds;
  });
  return { timesInBins, gapsInBins };
}

/** Returns how many there are. */
function forPairs(
  a: Float64Array,
  b: Float64Array,
  offset: number,
  reach: number,
  act: (timeA: number, timeB: number) => void,
): number {
  let from = 0;
  let count = 0;
  for (let i = 0; i < a.length; i++) {
    const t = a[i]!;
    while (from < b.length && b[from]! < t + offset - reach) from++;
    for (let j = from; j < b.length && b[j]! <= t + offset + reach; j++, count++) act(t, b[j]!);
  }
  return count;
}

/** Pairs of beats that are each other's nearest under the line, at most `tolerance` s apart. */
export function mutualPairs(a: Float64Array, b: Float64Array, line: ClockLine, tolerance: number): BeatPairs {
  const pairA = new Int32Array(a.length);
  const pairB = new Int32Array(a.length);
  let n = 0;
  let j = 0;
  for (let i = 0; i < a.length; i++) {
    const at = line.offset + (1 + line.drift) * a[i]!;
    while (j + 1 < b.length && Math.abs(b[j + 1]! - at) <= Math.abs(b[j]! - at)) j++;
    const distance = Math.abs(b[j]! - at);
    if (!(distance <= tolerance)) continue;
    if (n === 0 || pairB[n - 1] !== j) {
      pairA[n] = i;
      pairB[n++] = j;
    } else {
      const rival = line.offset + (1 + line.drift) * a[pairA[n - 1]!]!;
      if (distance < Math.abs(b[j]! - rival)) pairA[n - 1] = i;
    }
  }
  return { a: pairA.slice(0, n), b: pairB.slice(0, n) };
}

/** timeB - line(timeA) of each pair, in s. */
export function residualsOf(a: Float64Array, b: Float64Array, pairs: BeatPairs, line: ClockLine): Float64Array {
  const out = new Float64Array(pairs.a.length);
  for (let p = 0; p < out.length; p++) out[p] = b[pairs.b[p]!]! - line.offset - (1 + line.drift) * a[pairs.a[p]!]!;
  return out;
}

/**
 * Robust line through the pairs: Tukey's biweight, c = 4.685, scale 1.4826 MAD but not under half a millisecond, 20
 * rounds of reweighted least squares (Holland & Welsch, Commun Stat 1977;A6:813).
 */
export function robustLine(a: Float64Array, b: Float64Array, pairs: BeatPairs, start: ClockLine): ClockLine {
  let line = start;
  for (let round = 0; round < 20; round++) {
    const residuals = residualsOf(a, b, pairs, line);
    const reach = 4.685 * Math.max(0.0005, 1.4826 * medianSize(residuals));
    const step = weightedStep(a, pairs, residuals, reach);
    line = { offset: line.offset + step.offset, drift: line.drift + step.drift };
    if (Math.abs(step.offset) < 1e-9 && Math.abs(step.drift) < 1e-12) break;
  }
  return line;
}

function weightedStep(a: Float64Array, pairs: BeatPairs, residuals: Float64Array, reach: number): ClockLine {
  let sw = 0;
  let st = 0;
  let sr = 0;
  // At least half of the residuals lie within the reach, so the weights never sum to 0.
  const weights = new Float64Array(residuals.length);
  for (let p = 0; p < weights.length; p++) {
    const off = residuals[p]! / reach;
    const rest = 1 - off * off;
    weights[p] = rest > 0 ? rest * rest : 0;
    sw += weights[p]!;
    st += weights[p]! * a[pairs.a[p]!]!;
    sr += weights[p]! * residuals[p]!;
  }
  let stt = 0;
  let str = 0;
  for (let p = 0; p < weights.length; p++) {
    const t = a[pairs.a[p]!]! - st / sw;
    stt += weights[p]! * t * t;
    str += weights[p]! * t * (residuals[p]! - sr / sw);
  }
  const drift = stt > 0 ? str / stt : 0;
  return { offset: sr / sw - (drift * st) / sw, drift };
}
