import { canonicalJson, replay } from '../../marks/log';
import { upgradeEntry } from '../../marks/upgrade-entry';
import { detectedOf } from '../session';
import { gradeReview, type PracticeKind } from './practice';
import type { LessonName, PracticeLesson } from './practice-lesson';
import { edgesOfVersion, type PracticeResults } from './practice-results';

/** What a class has handed in, learner by learner and lesson by lesson, from files that were checked. */

export interface HandedIn {
  /** Name of the file. */
  readonly file: string;
  readonly results: PracticeResults;
}

export interface Attempt {
  readonly points: number;
  readonly maxPoints: number;
  readonly hints: number;
  readonly falseAlarms: number;
  /** Mean overlap of the unreadable stretches, 0 to 1; null without any, or where edges were graded by half. */
  readonly edgeOverlap: number | null;
  /** The lesson has unreadable stretches, of which half was enough when it was graded. */
  readonly halfWasEnough: boolean;
  /** Seconds at work; null when the log does not tell. */
  readonly seconds: number | null;
  /** When the lesson was finished, ISO 8601; '' for a lesson in which nothing was done. */
  readonly at: string;
}

export interface ClassRow {
  readonly learner: string;
  readonly lesson: LessonName;
  /** Attempts handed in, or more where a file says that there were more. */
  readonly attempts: number;
  readonly first: Attempt;
  /** The attempt with most points, the earlier one of two alike. */
  readonly best: Attempt;
  /** Files that hold an attempt which another file of the same learner holds already. */
  readonly repeated: number;
  /** Other learners who handed in the very same acts at the same times. */
  readonly sameActsAs: readonly string[];
}

export function classRows(handedIn: readonly HandedIn[]): ClassRow[] {
  const byActs = new Map<string, Set<string>>();
  for (const { results } of handedIn) {
    if (results.logHash === null) continue;
    const acts = actsOf(results);
    byActs.set(acts, (byActs.get(acts) ?? new Set()).add(results.learner));
  }
  const groups = groupedBy(handedIn, ({ results }) => `${results.learner} ${nameKey(results.lesson)}`);
  return [...groups.values()].map(files => rowOf(files, byActs)).sort(byLearnerAndLesson);
}

function rowOf(files: readonly HandedIn[], byActs: ReadonlyMap<string, ReadonlySet<string>>): ClassRow {
  const { learner, lesson } = files[0]!.results;
  const different = [...new Map(files.map(f => [f.results.logHash ?? '', f.results])).values()];
  const attempts = different.map(attemptOf).sort((a, b) => (a.at < b.at ? -1 : a.at > b.at ? 1 : 0));
  const others = different.flatMap(r => [...(byActs.get(actsOf(r)) ?? [])]).filter(l => l !== learner);
  return {
    learner,
    lesson,
    attempts: Math.max(attempts.length, ...different.map(r => r.attempts?.length ?? 0)),
    first: attempts[0]!,
    best: attempts.reduce((best, a) => (a.points > best.points ? a : best)),
    repeated: files.length - different.length,
    sameActsAs: [...new Set(others)].sort(),
  };
}

function attemptOf({ grade, seconds, log, version }: PracticeResults): Attempt {
  const { points, maxPoints, hints, falseAlarms, edgeOverlap = null, byKind } = grade;
  const halfWasEnough = edgesOfVersion(version) === 'half' && byKind.unreadable !== undefined;
  const at = log.entries.at(-1)?.at ?? '';
  return { points, maxPoints, hints, falseAlarms, edgeOverlap, halfWasEnough, seconds, at };
}

/** What was done and when, without who did it. */
function actsOf({ lesson, log }: PracticeResults): string {
  return canonicalJson([nameKey(lesson), log.entries.map(e => [e.at, e.intent, e.change])]);
}

function nameKey({ id, difficulty, seed }: LessonName): string {
  return `${id} ${difficulty} ${seed}`;
}

function byLearnerAndLesson(a: ClassRow, b: ClassRow): number {
  const [one, other] = [`${a.learner} ${nameKey(a.lesson)}`, `${b.learner} ${nameKey(b.lesson)}`];
  return one < other ? -1 : one > other ? 1 : 0;
}

export interface PlaceTally {
  readonly lesson: LessonName;
  readonly kind: PracticeKind;
  /** Seconds from the start of the lesson. */
  readonly seconds: number;
  readonly segment: string | null;
  /** Learners who found it at their first attempt, of those who handed the lesson in. */
  readonly found: number;
  readonly learners: number;
}

/**
 * The planted places of the lessons, hardest first: by the share of learners who found them at their first attempt.
 * `lessonOf` makes the lesson of a name, or answers null where it cannot be had.
 */
export function hardestPlaces(
  handedIn: readonly HandedIn[],
  lessonOf: (name: LessonName) => PracticeLesson | null,
): PlaceTally[] {
  const out: PlaceTally[] = [];
  for (const files of groupedBy(handedIn, f => nameKey(f.results.lesson)).values()) {
    const lesson = lessonOf(files[0]!.results.lesson);
    if (!lesson) continue;
    const { recording } = lesson.item;
    const tallies = new Map<string, PlaceTally>();
    // A sampled lesson asks each learner for the places of the stretches that they were shown.
    for (const results of firstAttempts(files.map(f => f.results))) {
      const review = reviewIn(results, lesson);
      const edges = edgesOfVersion(results.version);
      const { answers } = gradeReview(lesson.item, lesson.key, review, lesson.session.settings, edges);
      for (const { place, segment, answer } of answers) {
        const seconds = place.span.start / recording.samplingRateHz;
        const key = `${place.kind} ${place.span.start} ${place.span.end}`;
        const { found, learners } = tallies.get(key) ?? { found: 0, learners: 0 };
        const now = { found: found + (answer === 'found' ? 1 : 0), learners: learners + 1 };
        tallies.set(key, { lesson: lesson.name, kind: place.kind, seconds, segment, ...now });
      }
    }
    out.push(...tallies.values());
  }
  return out.sort(
    (a, b) => a.found / a.learners - b.found / b.learners || b.learners - a.learners || a.seconds - b.seconds,
  );
}

function firstAttempts(results: readonly PracticeResults[]): PracticeResults[] {
  const end = (r: PracticeResults) => r.log.entries.at(-1)?.at ?? '';
  return [...groupedBy(results, r => r.learner).values()].map(own =>
    own.reduce((first, r) => (end(r) < end(first) ? r : first)),
  );
}

function reviewIn({ log }: PracticeResults, lesson: PracticeLesson) {
  const whole = { header: log.header, entries: log.entries.map(upgradeEntry) };
  return replay(whole, detectedOf(lesson.session)).recordings.get(lesson.item.recording.id)!;
}

function groupedBy<T>(items: readonly T[], keyOf: (item: T) => string): Map<string, T[]> {
  const groups = new Map<string, T[]>();
  for (const item of items) {
    const group = groups.get(keyOf(item));
    if (group) group.push(item);
    else groups.set(keyOf(item), [item]);
  }
  return groups;
}
