import type { ClassRow } from './class-table';
import type { LessonName } from './practice-lesson';

/** The lessons a teacher gives a class, and what is asked of them. */
export interface ClassPlan {
  readonly title: string;
  /** In the order in which they are to be taken. */
  readonly lessons: readonly LessonName[];
  /** Whether a lesson opens only once the one before it was passed. */
  readonly inOrder: boolean;
  /** Attempts at each lesson; null for as many as wanted. */
  readonly attempts: number | null;
  /** Last day, YYYY-MM-DD, to its end by the clock of whoever looks; null for none. */
  readonly deadline: string | null;
  /** Percent of the points from which on a lesson is passed; null where none is asked for. */
  readonly passPercent: number | null;
}

/** One finished attempt at a lesson. */
export interface Finished {
  readonly points: number;
  readonly maxPoints: number;
}

export interface LessonStanding {
  readonly lesson: LessonName;
  readonly attempts: number;
  /** Best share of the points, percent; null before the first attempt was finished. */
  readonly bestPercent: number | null;
  readonly passed: boolean;
  /** Why it cannot be begun now, in words; null when it can. */
  readonly closed: string | null;
}

export function percentOf({ points, maxPoints }: Finished): number {
  return (100 * points) / maxPoints;
}

/** How a learner stands with each lesson. `finishedOf` has the finished attempts at one. */
export function planStandings(
  plan: ClassPlan,
  finishedOf: (lesson: LessonName) => readonly Finished[],
): LessonStanding[] {
  let before: LessonStanding | null = null;
  return plan.lessons.map(lesson => {
    const finished = finishedOf(lesson);
    const bestPercent = finished.length > 0 ? Math.max(...finished.map(percentOf)) : null;
    const passed = bestPercent !== null && bestPercent >= (plan.passPercent ?? 0);
    const used = plan.attempts !== null && finished.length >= plan.attempts;
    const waits = plan.inOrder && before !== null && !before.passed;
    const closed = used ? 'no attempt is left' : waits ? 'the lesson before it comes first' : null;
    before = { lesson, attempts: finished.length, bestPercent, passed, closed };
    return before;
  });
}

/** What a row of the class table comes to by the plan; null for a lesson that is not in it. */
export function judgedByPlan(
  plan: ClassPlan,
  row: ClassRow,
): { readonly passed: boolean; readonly late: boolean; readonly tooMany: boolean } | null {
  const { lesson, first, best } = row;
  const planned = plan.lessons.some(
    l => l.id === lesson.id && l.seed === lesson.seed && l.difficulty === lesson.difficulty,
  );
  if (!planned) return null;
  return {
    passed: percentOf(best) >= (plan.passPercent ?? 0),
    late: plan.deadline !== null && isAfter(first.at, plan.deadline),
    tooMany: plan.attempts !== null && row.attempts > plan.attempts,
  };
}

/** Whether a moment, ISO 8601 in UTC, lies after a day, YYYY-MM-DD: compared by date in UTC. */
export function isAfter(at: string, day: string): boolean {
  return at.slice(0, 10) > day;
}
