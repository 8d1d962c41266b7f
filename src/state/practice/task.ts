import type { EditLog } from '../../core/marks/log';
import { replay } from '../../core/marks/log';
import { lessonFromReview, type PracticeLesson, practiceLesson } from '../../core/review/practice/practice-lesson';
import { isFinished } from '../../core/review/raters/blind';
import { detectedOf, type Session } from '../../core/review/session';
import { type Difficulty, lessonKinds, makeLesson } from '../../core/simulate/lessons';
import type { Library } from '../library';
import { memoryLead } from '../review/memory-leads';
import type { StoredLeads } from '../review/signals';

/** What is to be practised: a simulated lesson, or a recording that somebody reviewed. */
export type PracticeTask =
  | { readonly from: 'seed'; readonly id: string; readonly difficulty: Difficulty; readonly seed: string }
  | { readonly from: 'session'; readonly session: string; readonly recording: string; readonly rater: string };

/** A task as parts of the address after `#/practice/`, so that a teacher can hand the address on. */
export function pathOfTask(task: PracticeTask): readonly string[] {
  if (task.from === 'seed') return [task.id, String(task.difficulty), task.seed];
  return ['from', task.session, task.recording, task.rater];
}

/** A lesson that is shown as it should be done; its seed is kept for that. */
export const workedExample = { from: 'seed', id: 'mixed', difficulty: 1, seed: 'worked-example' } as const;

export function isWorkedExample(task: PracticeTask): boolean {
  return task.from === 'seed' && task.seed === workedExample.seed;
}

/** Null when the address names no task. */
export function taskOfPath(path: readonly string[]): PracticeTask | null {
  const [id = '', second = '', third = '', fourth = ''] = path;
  if (id === 'from') {
    if (!second || !third || !fourth) return null;
    return { from: 'session', session: second, recording: third, rater: fourth };
  }
  const difficulty = Number(second);
  const known = lessonKinds.some(k => k.id === id) && [1, 2, 3, 4, 5].includes(difficulty);
  const seed = cleanSeed(third);
  if (!known || seed === '' || seed !== third) return null;
  return { from: 'seed', id, difficulty: difficulty as Difficulty, seed };
}

/** Seeds are small letters, digits and hyphens: easy to dictate, and different seeds stay different as names. */
export function cleanSeed(typed: string): string {
  return typed
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, '-')
    .replace(/^-+/, '')
    .slice(0, 30);
}

const syllables = ['ba', 'do', 'fe', 'gi', 'ka', 'lu', 'me', 'no', 'pa', 'ri', 'so', 'tu', 'va', 'wi', 'ze'];

/** A seed that can be said aloud, made of `draws` in [0, 1). */
export function wordSeed(draws: readonly number[]): string {
  return draws.map(d => syllables[Math.floor(d * syllables.length)]!).join('');
}

/** A lesson and how it came about. */
export interface LessonInHand {
  readonly task: PracticeTask;
  readonly lesson: PracticeLesson;
}

export interface Prepared {
  readonly lesson: PracticeLesson;
  readonly leads: ReadonlyMap<string, StoredLeads>;
  /** Leads whose signal is not kept here. */
  readonly absent: readonly string[];
}

/** Makes the lesson with its signals. A task that cannot be had here throws an Error that says why. */
export async function prepareLesson(library: Library, task: PracticeTask): Promise<Prepared> {
  if (task.from === 'session') return fromSession(library, task);
  const made = makeLesson(task.id, task.seed, task.difficulty);
  const { leads, recording } = made;
  const sources = leads.map((words, i) => memoryLead(recording.leads[i]!, words));
  return { lesson: practiceLesson(made), leads: new Map([[recording.id, sources]]), absent: [] };
}

async function fromSession(library: Library, task: PracticeTask & { from: 'session' }): Promise<Prepared> {
  const session = await library.session(task.session);
  const log = await library.log(task.session, task.rater);
  if (!session || !log) throw new Error('The session this lesson is made from is not stored in this browser.');
  const lesson = lessonOfLog(session, task.recording, log);
  const { sources, absent } = await library.leads(session);
  return { lesson, leads: new Map([[task.recording, sources.get(task.recording) ?? []]]), absent };
}

function lessonOfLog(session: Session, recordingId: string, log: EditLog): PracticeLesson {
  const item = session.recordings.find(r => r.recording.id === recordingId);
  const review = replay(log, detectedOf(session)).recordings.get(recordingId);
  if (!item || !review) throw new Error(`${session.title} has no such recording.`);
  return lessonFromReview(session, item, review);
}

/** A review kept here that can serve as the answers of a lesson. */
export interface ReviewedSource {
  readonly task: PracticeTask & { readonly from: 'session' };
  /** e.g. 'Training day, chest band: settled by S1'. */
  readonly title: string;
}

/**
 * Settled and finished reviews kept in this browser, but samples, which know the answers of a part only. A session that the learner is rating and has not finished is left
 * out: a lesson on it would show them another rater's work.
 */
export async function reviewedSources(library: Library, learner: string): Promise<ReviewedSource[]> {
  const out: ReviewedSource[] = [];
  for (const { id } of await library.sessions()) {
    const session = await library.session(id);
    if (!session) continue;
    const logs = await logsOf(library, id);
    if (logs.some(l => l.header.rater === learner && l.header.role === 'rater' && !isFinished(l))) continue;
    for (const { header } of logs.filter(log => isFinished(log) && !isSampled(session, log))) {
      const how = header.role === 'adjudicator' ? 'settled' : 'reviewed';
      for (const { recording } of session.recordings) {
        const task = { from: 'session', session: id, recording: recording.id, rater: header.rater } as const;
        out.push({ task, title: `${session.title}, ${recording.recorder}: ${how} by ${header.rater}` });
      }
    }
  }
  return out;
}

function isSampled(session: Session, log: EditLog): boolean {
  return [...replay(log, detectedOf(session)).recordings.values()].some(r => r.samplePlans.length > 0);
}

async function logsOf(library: Library, sessionId: string): Promise<EditLog[]> {
  const raters = await library.raters(sessionId);
  const logs = await Promise.all(raters.map(r => library.log(sessionId, r)));
  return logs.filter(l => l !== null);
}

/** The lessons kept here that a results file made from a session can be checked against. */
export async function lessonsNamed(library: Library, lessonId: string): Promise<PracticeLesson[]> {
  const out: PracticeLesson[] = [];
  for (const { id } of await library.sessions()) {
    const session = await library.session(id);
    const item = session?.recordings.find(r => lessonId === `from-${id}-${r.recording.id}`);
    if (!session || !item) continue;
    for (const log of (await logsOf(library, id)).filter(isFinished)) {
      out.push(lessonOfLog(session, item.recording.id, log));
    }
  }
  return out;
}
