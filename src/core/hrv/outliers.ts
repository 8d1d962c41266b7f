import { slidingQuantiles } from '../moments';

/** What an RR interval looks like; detection only, nothing is corrected. */
export type RrClass = 'normal' | 'ectopic' | 'long' | 'short' | 'missed' | 'extra';

export interface RrOutlier {
  /** Index of the interval. */
  readonly index: number;
  readonly kind: Exclude<RrClass, 'normal'>;
}

const alpha = 5.2;
const c1 = 0.13;
const c2 = 0.17;
const thresholdWindow = 91;
const medianWindow = 11;

/**
 * Artefact classes of an RR series in ms with time-varying thresholds (Lipponen & Tarvainen, J Med Eng Technol
 * 2019;43:173; equations from memory). The threshold is 5.2 times the quartile deviation of dRR (and of RR - local
 * median, doubled where negative) over 91 beats: 3.5 SD of normal differences, within which 99.95 % of them lie.
 * `ectopic`: both intervals of a short-long or long-short pair; `missed`: half the interval fits its neighbours;
 * `extra`: the interval and the next together fit. Steady series have no threshold and no outliers. Needs 10 intervals,
 * else none are looked for.
 */
export function rrOutliers(intervalsMs: ArrayLike<number>): RrOutlier[] {
  const n = intervalsMs.length;
  if (n < 10) return [];
  const course = courseOf(new Float64Array(intervalsMs));
  const kinds = new Uint8Array(n);
  for (let j = 1; j < n; j++) if (isEctopicPair(course, j)) kinds[j - 1] = kinds[j] = Kind.ectopic;
  for (let j = 0; j < n; j++) {
    if (kinds[j] !== Kind.normal) continue;
    kinds[j] = longOrShort(course, j);
    // The second half of an interval cut in two is part of the same finding.
    if (kinds[j] === Kind.extra) j++;
  }
  const outliers: RrOutlier[] = [];
  for (let j = 0; j < n; j++)
    if (kinds[j] !== Kind.normal) outliers.push({ index: j, kind: kindNames[kinds[j]! - 1]! });
  return outliers;
}

enum Kind {
  normal = 0,
  ectopic = 1,
  long = 2,
  short = 3,
  missed = 4,
  extra = 5,
}
const kindNames = ['ectopic', 'long', 'short', 'missed', 'extra'] as const;

interface Course {
  readonly rr: Float64Array;
  /** With two zeros more than there are intervals: what lies past the end does not differ. */
  readonly dRr: Float64Array;
  readonly mRr: Float64Array;
  readonly th1: Float64Array;
  readonly th2: Float64Array;
  readonly medians: Float64Array;
}

function courseOf(rr: Float64Array): Course {
  const n = rr.length;
  const dRr = new Float64Array(n + 2);
  const mRr = new Float64Array(n);
  const medians = slidingQuantiles(rr, medianWindow, [0.5])[0]!;
  for (let i = 0; i < n; i++) {
    if (i > 0) dRr[i] = rr[i]! - rr[i - 1]!;
    const off = rr[i]! - medians[i]!;
    mRr[i] = off < 0 ? 2 * off : off;
  }
  return { rr, dRr, mRr, th1: thresholds(dRr.subarray(0, n)), th2: thresholds(mRr), medians };
}

/** Whether intervals j - 1 and j are a short-long or long-short pair: dRR turns sharply on both sides of j. */
function isEctopicPair({ dRr, th1 }: Course, j: number): boolean {
  const threshold = th1[j]!;
  if (threshold <= 0) return false;
  const here = dRr[j]! / threshold;
  if (here <= 1 && here >= -1) return false;
  const before = dRr[j - 1]! / threshold;
  const after = dRr[j + 1]! / threshold;
  if (here > 1) return Math.max(before, after) < -c1 * here - c2;
  return Math.min(before, after) > -c1 * here + c2;
}

function longOrShort({ rr, dRr, mRr, th1, th2, medians }: Course, j: number): Kind {
  if (th1[j]! <= 0 || th2[j]! <= 0) return Kind.normal;
  const here = dRr[j]! / th1[j]!;
  const m = mRr[j]! / th2[j]!;
  if ((here > 1 && Math.min(dRr[j + 1]!, dRr[j + 2]!) / th1[j]! < -1) || m > 3) {
    return Math.abs(rr[j]! / 2 - medians[j]!) < th2[j]! ? Kind.missed : Kind.long;
  }
  if ((here < -1 && Math.max(dRr[j + 1]!, dRr[j + 2]!) / th1[j]! > 1) || m < -3) {
    return Math.abs(rr[j]! + (rr[j + 1] ?? 0) - medians[j]!) < th2[j]! ? Kind.extra : Kind.short;
  }
  return Kind.normal;
}

function thresholds(values: Float64Array): Float64Array {
  const [low, high] = slidingQuantiles(values, thresholdWindow, [0.25, 0.75]);
  for (let i = 0; i < low!.length; i++) low![i] = (alpha * (high![i]! - low![i]!)) / 2;
  return low!;
}
