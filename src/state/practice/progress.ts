import type { EditLog } from '../../core/marks/log';
import { practiceResults } from '../../core/review/practice/practice-results';
import { addProgress, type ProgressEntry, progressEntry } from '../../core/review/standing/progress';
import { lessonKinds } from '../../core/simulate/lessons';
import { type Collection, collection } from '../../storage/collection';
import type { HasLibrary, Library } from '../library';
import { type LessonInHand, pathOfTask } from './task';

/** What this browser keeps of practising, beside the logs: lessons begun, and lessons done with what they came to. */
type Kept =
  | { readonly type: 'begun'; readonly learner: string; readonly begun: BegunLesson }
  | { readonly type: 'done'; readonly learner: string; readonly entry: ProgressEntry };

export interface BegunLesson {
  /** Id of the lesson's session, which its log is kept under. */
  readonly session: string;
  readonly title: string;
  readonly path: readonly string[];
  /** ISO 8601. */
  readonly at: string;
}

export interface LearnerProgress {
  readonly begun: readonly BegunLesson[];
  /** By time. */
  readonly done: readonly ProgressEntry[];
}

async function documents(library: Library): Promise<Collection<Kept>> {
  return collection<Kept>(await library.database(), 'practice');
}

export async function progressOf(library: Library, learner: string): Promise<LearnerProgress> {
  const all = (await (await documents(library)).list()).filter(k => k.learner === learner);
  const done = all.flatMap(k => (k.type === 'done' ? [k.entry] : []));
  const begun = all.flatMap(k => (k.type === 'begun' ? [k.begun] : []));
  begun.sort((a, b) => (a.at < b.at ? 1 : -1));
  return { begun, done: done.reduce<readonly ProgressEntry[]>(addProgress, []) };
}

/** Kept under the lesson's session, so a lesson opened twice is listed once, with the time it was begun first. */
export async function saveBegun(
  app: HasLibrary & { now(): Date },
  { lesson, task }: LessonInHand,
  learner: string,
): Promise<void> {
  const kept = await documents(app.library);
  const { id, title } = lesson.session;
  if (await kept.get(learner, 'begun', id)) return;
  const begun = { session: id, title, path: pathOfTask(task), at: app.now().toISOString() };
  await kept.put({ type: 'begun', learner, begun }, learner, 'begun', id);
}

/**
 * Keeps what a finished lesson came to. The same seed done a second time is no longer practice on unknown ground, so only
 * the first time counts. False when it does not count.
 */
export async function saveDone(
  app: HasLibrary,
  { lesson }: Pick<LessonInHand, 'lesson'>,
  log: EditLog,
): Promise<boolean> {
  const learner = log.header.rater;
  const kept = await documents(app.library);
  await kept.remove(learner, 'begun', lesson.session.id);
  const entry = progressEntry(practiceResults(lesson, log));
  if (!entry) return false;
  const { done } = await progressOf(app.library, learner);
  const earlier = done.find(
    e => e.lesson === entry.lesson && e.seed === entry.seed && e.difficulty === entry.difficulty,
  );
  if (earlier) return earlier.logHash === entry.logHash;
  await kept.put({ type: 'done', learner, entry }, learner, 'done', entry.logHash);
  return true;
}

/** Takes a lesson's log away, so that it can be taken again; what it came to stays in the progress. */
export async function forgetLesson(library: Library, sessionId: string, learner: string): Promise<void> {
  await library.removeSession(sessionId);
  await (await documents(library)).remove(learner, 'begun', sessionId);
}

export function lessonTitle(id: string): string {
  return lessonKinds.find(k => k.id === id)?.title ?? 'From a reviewed session';
}
