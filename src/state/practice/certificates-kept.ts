import { collection } from '../../storage/collection';
import type { Library } from '../library';

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

export const keptCertificates = async (library: Pick<Library, 'database'>) =>
  collection<Certificate>(await library.database(), 'certificate');

/** Those that were taken here, by rater and time. */
export async function certificates(library: Pick<Library, 'database'>): Promise<readonly Certificate[]> {
  const all = await (await keptCertificates(library)).list();
  return [...all].sort((a, b) => (a.rater + a.at < b.rater + b.at ? -1 : 1));
}
