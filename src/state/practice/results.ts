import type { EditLog } from '../../core/marks/log';
import type { PracticeLesson } from '../../core/review/practice/practice-lesson';
import {
  type CheckedResults,
  checkResults,
  type PracticeAttempt,
  type PracticeResults,
  practiceResults,
  resultsText,
} from '../../core/review/practice/practice-results';
import type { ExportFile } from '../export/exporting';
import type { Library } from '../library';
import { attemptsAt, gradingKept } from './progress';
import { lessonsNamed } from './task';

/** What a learner hands in: the log with its grade, checkable against the lesson's seed. */
export async function resultsFile(library: Library, lesson: PracticeLesson, log: EditLog): Promise<ExportFile> {
  const kept = await attemptsAt(library, lesson.session.id, log.header.rater);
  const at = log.entries.at(-1)?.at ?? '';
  const earlier = kept.filter(a => a.at < at).map(({ at, points }) => ({ at, points }));
  const text = resultsText(await gradedAsKept(library, lesson, log, earlier));
  const name = `${lesson.session.id}-${log.header.rater}-results.json`;
  return { name, blob: new Blob([text], { type: 'application/json' }) };
}

/** A lesson that was graded when half of a stretch was enough stays so. */
async function gradedAsKept(
  library: Library,
  lesson: PracticeLesson,
  log: EditLog,
  earlier: readonly PracticeAttempt[],
): Promise<PracticeResults> {
  if ((await gradingKept(library, log)) === 'overlap') return practiceResults(lesson, log, earlier);
  const { points } = practiceResults(lesson, log, [], 2).grade;
  return practiceResults(lesson, log, [...earlier, { at: log.entries.at(-1)?.at ?? '', points }], 3);
}

/**
 * Checks a file handed in by grading its log again. A lesson made from a session needs that session here; where several
 * reviews of it are kept, the file is right when it agrees with one of them.
 */
export async function checkResultsFile(library: Library, text: string): Promise<CheckedResults> {
  const id = lessonIdOf(text);
  if (!id?.startsWith('from-')) return checkResults(text);
  const lessons = await lessonsNamed(library, id);
  if (lessons.length === 0) {
    return { ok: false, why: 'The reviewed session this lesson was made from is not stored in this browser.' };
  }
  const checks = lessons.map(lesson => checkResults(text, () => lesson));
  return checks.find(c => c.ok) ?? checks[0]!;
}

function lessonIdOf(text: string): string | null {
  try {
    const { lesson } = JSON.parse(text) as { lesson?: { id?: unknown } };
    return typeof lesson?.id === 'string' ? lesson.id : null;
  } catch {
    return null;
  }
}
