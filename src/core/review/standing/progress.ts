import { type Computed, notComputable } from '../../score/result';
import type { Difficulty } from '../../simulate/lessons';
import type { KindCounts, PracticeKind } from '../practice/practice';
import type { PracticeResults } from '../practice/practice-results';

/** A learner's way through the lessons, as plain data kept on their device. */

/** One lesson done. */
export interface ProgressEntry {
  readonly lesson: string;
  readonly seed: string;
  readonly difficulty: Difficulty;
  /** When the lesson was finished, ISO 8601: time of the last entry. */
  readonly at: string;
  readonly points: number;
  readonly maxPoints: number;
  readonly falseAlarms: number;
  readonly hints: number;
  readonly seconds: number | null;
  readonly byKind: Readonly<Partial<Record<PracticeKind, KindCounts>>>;
  /** Hash of the log's last entry: the same results are not counted twice. */
  readonly logHash: string;
}

export function progressEntry(results: PracticeResults): ProgressEntry | null {
  const last = results.log.entries.at(-1);
  if (!last) return null;
  const { points, maxPoints, falseAlarms, hints, byKind } = results.grade;
  const { id, seed, difficulty } = results.lesson;
  const logHash = last.hash;
  return {
    lesson: id,
    seed,
    difficulty,
    at: last.at,
    points,
    maxPoints,
    falseAlarms,
    hints,
    seconds: results.seconds,
    byKind,
    logHash,
  };
}

/** Adds one, sorted by time; one already there leaves the list as it is. */
export function addProgress(list: readonly ProgressEntry[], entry: ProgressEntry): readonly ProgressEntry[] {
  if (list.some(e => e.logHash === entry.logHash)) return list;
  return [...list, entry].sort((a, b) => (a.at < b.at ? -1 : a.at > b.at ? 1 : 0));
}

export interface ProgressPoint {
  readonly at: string;
  readonly difficulty: Difficulty;
  /** Share of the points, in [0, 1]. */
  readonly share: number;
}

/** The chart's line for one lesson, or for all with `null`. */
export function progressLine(list: readonly ProgressEntry[], lesson: string | null): ProgressPoint[] {
  return list
    .filter(e => lesson === null || e.lesson === lesson)
    .map(e => ({ at: e.at, difficulty: e.difficulty, share: shareOf(e) }));
}

/** Share of the planted mistakes of each kind that were found in the last `lessons` lessons. */
export function foundByKind(list: readonly ProgressEntry[], lessons = 10): Readonly<Record<PracticeKind, Computed>> {
  const recent = list.slice(-lessons);
  const share = (kind: PracticeKind): Computed => {
    const tallies = recent.map(e => e.byKind[kind]).filter(t => t !== undefined);
    const planted = tallies.reduce((n, t) => n + t.planted, 0);
    if (planted === 0) return notComputable('none met yet');
    return { value: tallies.reduce((n, t) => n + t.found, 0) / planted, n: planted };
  };
  return {
    missed: share('missed'),
    wrongPeak: share('wrongPeak'),
    shifted: share('shifted'),
    extra: share('extra'),
    unreadable: share('unreadable'),
  };
}

/** Two results of at least this share of the points in a row lead one step up. */
const upFrom = 0.85;
/** One result below this share leads one step down. */
const downBelow = 0.5;

/** The difficulty to offer next for a lesson, from what was done of it; 1 for a first try. */
export function nextDifficulty(list: readonly ProgressEntry[], lesson: string): Difficulty {
  const done = list.filter(e => e.lesson === lesson);
  const last = done.at(-1);
  if (!last) return 1;
  const before = done.at(-2);
  if (shareOf(last) < downBelow) return step(last.difficulty, -1);
  const isSteady = before && before.difficulty === last.difficulty && shareOf(before) >= upFrom;
  return isSteady && shareOf(last) >= upFrom ? step(last.difficulty, 1) : last.difficulty;
}

function step(from: Difficulty, by: 1 | -1): Difficulty {
  return Math.max(1, Math.min(5, from + by)) as Difficulty;
}

function shareOf({ points, maxPoints }: ProgressEntry): number {
  return points / maxPoints;
}
