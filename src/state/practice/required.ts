import { joinedPractice, type RequiredPractice } from '../../core/review/required-practice';
import type { Session } from '../../core/review/session';
import type { Study } from '../../core/review/study/study';
import { collection } from '../../storage/collection';
import type { Library } from '../library';
import { certificates } from './certificates-kept';
import type { Kept } from './progress';

interface Practised {
  readonly difficulty: number;
  readonly points: number;
  readonly maxPoints: number;
}

/** The session with what it came with and what its studies here ask for, so that whoever gets a copy is asked for it too. */
export async function withRequiredPractice(library: Pick<Library, 'database'>, session: Session): Promise<Session> {
  const studies = await collection<Study>(await library.database(), 'study').list();
  const here = studies.flatMap(s =>
    s.sessions.includes(session.id) && s.requiredPractice ? [s.requiredPractice] : [],
  );
  const different = joinedPractice([...(session.requiredPractice ?? []), ...here]);
  return different.length > 0 ? { ...session, requiredPractice: different } : session;
}

/**
 * What a rater still has to practise before a session of theirs can be changed, in words; null when the session asks for
 * none, or when they have all that it asks for. Lessons done in this browser count, and certificates that were taken in
 * here.
 *
 * @param session with what its studies ask for
 */
export async function practiceMissing(
  library: Pick<Library, 'database'>,
  session: Pick<Session, 'requiredPractice'>,
  rater: string,
): Promise<string | null> {
  const asked = session.requiredPractice ?? [];
  if (asked.length === 0) return null;
  const database = await library.database();
  const done = (await collection<Kept>(database, 'practice').list()).flatMap(k =>
    k.type === 'done' && k.learner === rater ? [k.entry] : [],
  );
  const taken = (await certificates(library)).filter(c => c.rater === rater);
  const unmet = asked.find(required => ![...done, ...taken].some(lesson => meets(lesson, required)));
  return unmet ? inWords(unmet) : null;
}

function meets({ difficulty, points, maxPoints }: Practised, required: RequiredPractice): boolean {
  return difficulty >= required.difficulty && maxPoints > 0 && 100 * points >= required.passPercent * maxPoints;
}

function inWords({ passPercent, difficulty }: RequiredPractice): string {
  return `this study asks for practice first: ${passPercent} % in a lesson of difficulty ${difficulty} or more`;
}
