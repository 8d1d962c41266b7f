import type { Library } from '../library';
import { type Certificate, keptCertificates } from './certificates-kept';
import { checkResultsFile } from './results';

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
  await (await keptCertificates(library)).put(certificate, learner, logHash);
  return certificate;
}
