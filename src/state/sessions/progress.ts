import { isFinished } from '../../core/review/raters/blind';
import { raterProgress } from '../../core/review/raters/rater-progress';
import type { Library } from '../library';
import type { SessionProgress } from './listing';

/**
 * How far the own review of a session is, and which others there are. Of those nothing but the code is read, so that
 * nobody is led by how far or how they got. `own` is null before it was begun.
 */
export async function sessionProgress(library: Library, id: string, rater: string): Promise<SessionProgress> {
  const codes = await library.raters(id);
  const others = codes.filter(c => c !== rater);
  const log = codes.includes(rater) ? await library.log(id, rater) : null;
  const session = log ? await library.session(id) : null;
  if (!log || !session) return { own: null, others };
  const { entries, lookedAtShare, signedOffSegments, segments } = raterProgress(session, log);
  return { own: { entries, lookedAtShare, signedOffSegments, segments, finished: isFinished(log) }, others };
}

/**
 * Reads the progress of many sessions one after the other, so that the page stays fluent, and tells of some at a time.
 * Returns what ends it.
 */
export function followProgress(
  library: Library,
  ids: readonly string[],
  rater: string,
  tell: (known: ReadonlyMap<string, SessionProgress>) => void,
  onProblem: (error: Error) => void,
): () => void {
  let ended = false;
  const read = async () => {
    const known = new Map<string, SessionProgress>();
    for (const [i, id] of ids.entries()) {
      if (ended) return;
      known.set(id, await sessionProgress(library, id, rater));
      if (!ended && (i === ids.length - 1 || known.size % tellEvery === 0)) tell(new Map(known));
    }
  };
  read().catch((error: Error) => {
    if (!ended) onProblem(error);
  });
  return () => {
    ended = true;
  };
}

const tellEvery = 25;
