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
  const rr = Float64Array.from(intervalsMs);
  if (rr.length < 10) return [];
  const dRr = rr.map((v, i) => (i === 0 ? 0 : v - rr[i - 1]!));
  const medians = slidingQuantiles(rr, medianWindow, [0.5])[0]!;
  const mRr = rr.map((v, i) => (v < medians[i]! ? 2 : 1) * (v - medians[i]!));
  const th1 = thresholds(dRr);
  const th2 = thresholds(mRr);
  const course = { rr, dRr, mRr, th1, th2, medians };
  const kinds: RrClass[] = Array.from(rr, () => 'normal');
  for (let j = 1; j < rr.length; j++) if (isEctopicPair(course, j)) kinds[j - 1] = kinds[j] = 'ectopic';
  for (let j = 0; j < rr.length; j++) {
    if (kinds[j] !== 'normal') continue;
    kinds[j] = longOrShort(course, j);
    // The second half of an interval cut in two is part of the same finding.
    if (kinds[j] === 'extra') j++;
  }
  return kinds.flatMap((kind, index) => (kind === 'normal' ? [] : [{ index, kind }]));
}

interface Course {
  readonly rr: Float64Array;
  readonly dRr: Float64Array;
  readonly mRr: Float64Array;
  readonly th1: Float64Array;
  readonly th2: Float64Array;
  readonly medians: Float64Array;
}

/** dRR of interval j in units of its threshold; 0 outside the series. */
const step = ({ dRr, th1 }: Course, j: number, k: number) => (dRr[k] ?? 0) / th1[j]!;

/** Whether intervals j - 1 and j are a short-long or long-short pair: dRR turns sharply on both sides of j. */
function isEctopicPair(course: Course, j: number): boolean {
  if (course.th1[j]! <= 0) return false;
  const here = step(course, j, j);
  const before = step(course, j, j - 1);
  const after = step(course, j, j + 1);
  if (here > 1) return Math.max(before, after) < -c1 * here - c2;
  return here < -1 && Math.min(before, after) > -c1 * here + c2;
}

function longOrShort(course: Course, j: number): RrClass {
  const { rr, mRr, th1, th2, medians } = course;
  if (th1[j]! <= 0 || th2[j]! <= 0) return 'normal';
  const here = step(course, j, j);
  const next = [step(course, j, j + 1), step(course, j, j + 2)] as const;
  const m = mRr[j]! / th2[j]!;
  if ((here > 1 && Math.min(...next) < -1) || m > 3) {
    return Math.abs(rr[j]! / 2 - medians[j]!) < th2[j]! ? 'missed' : 'long';
  }
  if ((here < -1 && Math.max(...next) > 1) || m < -3) {
    return Math.abs(rr[j]! + (rr[j + 1] ?? 0) - medians[j]!) < th2[j]! ? 'extra' : 'short';
  }
  return 'normal';
}

function thresholds(values: Float64Array): Float64Array {
  const [low, high] = slidingQuantiles(values, thresholdWindow, [0.25, 0.75]);
  return low!.map((q, i) => (alpha * (high![i]! - q)) / 2);
}
