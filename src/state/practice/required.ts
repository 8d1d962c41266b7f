import type { RequiredPractice, Study } from '../../core/review/study/study';
import { collection } from '../../storage/collection';
import type { Library } from '../library';
import { certificates } from './certificates-kept';
import type { Kept } from './progress';

interface Practised {
  readonly difficulty: number;
  readonly points: number;
  readonly maxPoints: number;
}

/**
 * What a rater still has to practise before a session of theirs can be changed, in words; null when no study of the
 * session asks for any, or when every one has what it asks for. Lessons done in this browser count, and certificates
 * that were taken in here.
 */
export async function practiceMissing(
  library: Pick<Library, 'database'>,
  session: string,
  rater: string,
): Promise<string | null> {
  const database = await library.database();
  const studies = await collection<Study>(database, 'study').list();
  const asked = studies.flatMap(s => (s.sessions.includes(session) && s.requiredPractice ? [s.requiredPractice] : []));
  if (asked.length === 0) return null;
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
