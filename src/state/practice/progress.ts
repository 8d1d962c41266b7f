import type { EditLog } from '../../core/marks/log';
import type { EdgeGrading } from '../../core/review/practice/edges';
import { lessonSessionId } from '../../core/review/practice/practice-lesson';
import { type PracticeAttempt, practiceResults } from '../../core/review/practice/practice-results';
import { isFinished } from '../../core/review/raters/blind';
import { addProgress, type ProgressEntry, progressEntry } from '../../core/review/standing/progress';
import { lessonKinds } from '../../core/simulate/lessons';
import { type Collection, collection } from '../../storage/collection';
import type { HasLibrary, Library } from '../library';
import { type LessonInHand, pathOfTask } from './task';

/** What this browser keeps of practising, beside the logs: lessons begun, and lessons done with what they came to. */
export type Kept =
  | { readonly type: 'begun'; readonly learner: string; readonly begun: BegunLesson }
  | { readonly type: 'done'; readonly learner: string; readonly entry: ProgressEntry }
  | { readonly type: 'attempt'; readonly learner: string; readonly session: string; readonly attempt: SavedAttempt };

/** An attempt at a lesson, graded or discarded; every one counts, also of a seed done before. */
export interface SavedAttempt extends PracticeAttempt {
  readonly maxPoints: number;
  /** How edges were graded; by half where it does not say. */
  readonly edges?: EdgeGrading;
}

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
  { lesson, edges }: Pick<LessonInHand, 'lesson'> & { readonly edges: EdgeGrading },
  log: EditLog,
): Promise<boolean> {
  const learner = log.header.rater;
  const kept = await documents(app.library);
  await kept.remove(learner, 'begun', lesson.session.id);
  const entry = progressEntry(practiceResults(lesson, log, [], edges === 'overlap' ? 4 : 2));
  if (entry) {
    const { at, points, maxPoints, logHash } = entry;
    const attempt = { at, points, maxPoints, edges };
    await kept.put({ type: 'attempt', learner, session: lesson.session.id, attempt }, learner, 'attempt', logHash);
  }
  if (!entry) return false;
  const { done } = await progressOf(app.library, learner);
  const earlier = done.find(
    e => e.lesson === entry.lesson && e.seed === entry.seed && e.difficulty === entry.difficulty,
  );
  if (earlier) return earlier.logHash === entry.logHash;
  await kept.put({ type: 'done', learner, entry }, learner, 'done', entry.logHash);
  return true;
}

/** How the edges of unreadable stretches are graded in a log: one finished before they counted stays as it was graded. */
export async function gradingKept(library: Library, log: EditLog): Promise<EdgeGrading> {
  const last = log.entries.at(-1);
  if (!last || !isFinished(log)) return 'overlap';
  const kept = await documents(library);
  const attempt = await kept.get(log.header.rater, 'attempt', last.hash);
  if (attempt?.type === 'attempt') return attempt.attempt.edges ?? 'half';
  return (await kept.get(log.header.rater, 'done', last.hash)) ? 'half' : 'overlap';
}

const sessionOf = ({ lesson, difficulty, seed }: ProgressEntry) => lessonSessionId({ id: lesson, difficulty, seed });

/** A learner's attempts at a lesson, by time. Of before they were counted, a lesson done is known as one. */
export async function attemptsAt(library: Library, sessionId: string, learner: string): Promise<SavedAttempt[]> {
  const own = (await (await documents(library)).list()).filter(k => k.learner === learner);
  const counted = own.flatMap(k => (k.type === 'attempt' && k.session === sessionId ? [k.attempt] : []));
  const done = own.flatMap(k => (k.type === 'done' && sessionOf(k.entry) === sessionId ? [k.entry] : []));
  const before = done.filter(d => !counted.some(a => a.at === d.at));
  return [...counted, ...before.map(({ at, points, maxPoints }) => ({ at, points, maxPoints }))].sort((a, b) =>
    a.at < b.at ? -1 : a.at > b.at ? 1 : 0,
  );
}

/**
 * Takes a lesson's log away, so that it can be taken again; what it came to stays in the progress. One that was worked on
 * and not graded counts as an attempt.
 */
export async function forgetLesson(library: Library, sessionId: string, learner: string): Promise<void> {
  const log = await library.log(sessionId, learner);
  const last = log?.entries.at(-1);
  if (log && last && !isFinished(log)) {
    const attempt = { at: last.at, points: null, maxPoints: 0 };
    const kept = await documents(library);
    await kept.put({ type: 'attempt', learner, session: sessionId, attempt }, learner, 'attempt', last.hash);
  }
  await library.removeSession(sessionId);
  await (await documents(library)).remove(learner, 'begun', sessionId);
}

export function lessonTitle(id: string): string {
  return lessonKinds.find(k => k.id === id)?.title ?? 'From a reviewed session';
}
