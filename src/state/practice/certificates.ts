import { collection } from '../../storage/collection';
import type { Library } from '../library';
import { checkResultsFile } from './results';

/** One lesson that a rater has handed in, graded again here from its log. */
export interface Certificate {
  readonly rater: string;
  readonly lesson: string;
  readonly difficulty: number;
  /** When the lesson was finished, ISO 8601. */
  readonly at: string;
  readonly points: number;
  readonly maxPoints: number;
  readonly falseAlarms: number;
}

const kept = async (library: Pick<Library, 'database'>) =>
  collection<Certificate>(await library.database(), 'certificate');

/** Those that were taken here, by rater and time. */
export async function certificates(library: Pick<Library, 'database'>): Promise<readonly Certificate[]> {
  const all = await (await kept(library)).list();
  return [...all].sort((a, b) => (a.rater + a.at < b.rater + b.at ? -1 : 1));
}

/** Takes a results file of a lesson; one that was changed, or whose grade is not what its log comes to, is refused. */
export async function takeCertificate(library: Library, name: string, text: string): Promise<Certificate> {
  const checked = await checkResultsFile(library, text);
  if (!checked.ok) throw new Error(`${name}: ${checked.why}`);
  const { learner, lesson, grade, log, logHash } = checked.results;
  const last = log.entries.at(-1);
  if (!last || logHash === null) throw new Error(`${name}: nothing was done in this lesson.`);
  const { points, maxPoints, falseAlarms } = grade;
  const certificate: Certificate = {
    rater: learner,
    lesson: lesson.id,
    difficulty: lesson.difficulty,
    at: last.at,
    points,
    maxPoints,
    falseAlarms,
  };
  await (await kept(library)).put(certificate, learner, logHash);
  return certificate;
}
