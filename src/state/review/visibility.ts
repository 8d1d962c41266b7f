import type { EditLog } from '../../core/marks/log';
import { hasRated, isFinished, type Viewer, visibleLogs } from '../../core/review/raters/blind';
import { isSamePerson, raterOf } from '../../core/review/raters/compare';
import type { Session } from '../../core/review/session';
import type { Library } from '../library';
import type { ReviewStore } from './review-store';

/**
 * Reads from the browser's store the logs that the viewer may see, the own one included. Of a log that stays hidden no
 * entry is read: a blind rater's page never holds what it must not show.
 */
export async function readVisible(library: Library, session: Session, viewer: Viewer): Promise<EditLog[]> {
  const own = await library.log(session.id, viewer.rater);
  if (viewer.role !== 'adjudicator' && !(own && isFinished(own))) return own ? [own] : [];
  const logs: EditLog[] = [];
  for (const rater of await library.raters(session.id)) {
    const log = rater === viewer.rater ? own : await library.log(session.id, rater);
    if (log) logs.push(log);
  }
  return visibleLogs({ session, logs }, viewer);
}

/** Takes into a finished review the other raters' logs that are on disk by now; an unfinished one stays blind. */
export async function showOthers(library: Library, review: ReviewStore): Promise<void> {
  const { session, log } = review.get();
  await review.settled();
  const visible = await readVisible(library, session, log.header);
  if (!review.get().replayed.finished) return;
  review.addOthers(visible.filter(l => l.header.rater !== log.header.rater));
}

/** Keeps the other raters' logs in the review while it is finished, and takes them out when it is reopened. */
export function followOthers(library: Library, review: ReviewStore): () => void {
  let shown = false;
  let stopped = false;
  const follow = async () => {
    const { replayed } = review.get();
    if (replayed.finished === shown) return;
    shown = replayed.finished;
    if (!shown) return review.addOthers([]);
    if (!stopped) await showOthers(library, review);
  };
  void follow();
  const stop = review.subscribe(() => void follow());
  return () => {
    stopped = true;
    stop();
  };
}

/**
 * Why this code may not settle differences here, in words; null when it may. `rating` is the code of whoever rates with
 * this browser: while that review is open, the others stay hidden from it.
 */
export async function whyNotSettle(
  library: Library,
  session: Session,
  code: string,
  rating: string,
): Promise<string | null> {
  if (code === '') return 'Settling needs a code of its own, such as S1.';
  const raters = await library.raters(session.id);
  // The own reviews first: while one is open, nothing of any other log is read, not even its head.
  for (const rater of raters.filter(r => isSamePerson(r, rating))) {
    const own = await library.log(session.id, rater);
    if (own && own.header.role === 'rater' && hasRated(own) && !isFinished(own)) {
      return `${rater} is still rating this session in this browser: finish that review first, or settle in another browser.`;
    }
  }
  for (const rater of raters) {
    const header = await library.logHeader(session.id, rater);
    if (header && header.role !== 'adjudicator' && isSamePerson(rater, code)) {
      return `${rater} has rated this session: settle with a code that has not.${raterOf(rater) === raterOf(code) ? '' : ' Capital and small letters do not make another person.'}`;
    }
  }
  return null;
}
