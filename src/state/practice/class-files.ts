import { type ClassPlan, type Finished, judgedByPlan } from '../../core/review/practice/class-plan';
import { type ClassRow, type HandedIn, hardestPlaces, type PlaceTally } from '../../core/review/practice/class-table';
import { type LessonName, lessonSessionId, simulatedLesson } from '../../core/review/practice/practice-lesson';
import { csvText } from '../../formats/csv/csv';
import { classPlanText, readClassPlan } from '../../formats/practice/class-plan';
import type { ExportFile } from '../export/exporting';
import type { Library } from '../library';
import { hashOfScreen } from '../stores/ui-store';
import { attemptsAt, lessonTitle } from './progress';

/** The class as a table file: one row for each learner and lesson. */
export function classCsv(rows: readonly ClassRow[], plan: ClassPlan | null): ExportFile {
  const head = [
    ...['learner', 'lesson', 'difficulty', 'seed', 'attempts'],
    ...['first_points', 'first_finished', 'best_points', 'best_finished', 'max_points'],
    ...['best_hints', 'best_false_alarms', 'best_seconds', 'files_repeated', 'same_acts_as', 'best_edge_overlap'],
    ...(plan ? ['passed', 'late', 'too_many_attempts'] : []),
  ];
  const cells = rows.map(row => {
    const { learner, lesson, first, best } = row;
    const judged = plan && judgedByPlan(plan, row);
    return [
      ...[learner, lesson.id, lesson.difficulty, lesson.seed, row.attempts],
      ...[first.points, first.at, best.points, best.at, best.maxPoints],
      ...[best.hints, best.falseAlarms, best.seconds, row.repeated, row.sameActsAs.join(' '), best.edgeOverlap],
      ...(plan ? [judged?.passed ?? null, judged?.late ?? null, judged?.tooMany ?? null] : []),
    ];
  });
  return { name: 'class-results.csv', blob: new Blob([csvText(head, cells)], { type: 'text/csv' }) };
}

/** The hardest places of simulated lessons; a lesson made from a session is not made again here. */
export function hardest(handedIn: readonly HandedIn[]): PlaceTally[] {
  return hardestPlaces(handedIn, name => (name.seed === '' ? null : simulatedLesson(name)));
}

/** Address after `#/practice/` that holds a whole plan. */
export function pathOfPlan(plan: ClassPlan): readonly string[] {
  return ['class', classPlanText(plan)];
}

/** Null when the address is of no class. Throws a FormatError when it is of one that cannot be read. */
export function planOfPath([first, text]: readonly string[]): ClassPlan | null {
  return first === 'class' && text !== undefined ? readClassPlan(text, 'this link') : null;
}

export function classFile(plan: ClassPlan): ExportFile {
  const stem = plan.title
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, '-')
    .replace(/^-+|-+$/g, '');
  const blob = new Blob([`${classPlanText(plan)}\n`], { type: 'application/json' });
  return { name: `${stem || 'class'}-lessons.json`, blob };
}

export async function openClassFile(file: File): Promise<void> {
  const plan = readClassPlan(await file.text(), file.name);
  location.hash = hashOfScreen({ name: 'practice', task: pathOfPlan(plan) });
}

/** The attempts a learner finished here at each lesson of a plan. */
export async function finishedAttempts(
  library: Library,
  plan: ClassPlan,
  learner: string,
): Promise<(lesson: LessonName) => readonly Finished[]> {
  const found = new Map<string, readonly Finished[]>();
  for (const lesson of plan.lessons) {
    const session = lessonSessionId(lesson);
    const attempts = await attemptsAt(library, session, learner);
    const finished = attempts.flatMap(a => (a.points === null ? [] : [{ points: a.points, maxPoints: a.maxPoints }]));
    found.set(session, finished);
  }
  return lesson => found.get(lessonSessionId(lesson)) ?? [];
}

export function lessonWords({ id, difficulty, seed }: LessonName): string {
  return `${lessonTitle(id)}${seed ? `, seed ${seed}, difficulty ${difficulty}` : ''}`;
}
