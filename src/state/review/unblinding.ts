import type { UnblindedFact } from '../../core/marks/facts';
import { append, type Draft, type EditLog } from '../../core/marks/log';
import { hasRated, isFinished, unblindedDraft } from '../../core/review/raters/blind';
import { collection } from '../../storage/collection';
import { lockSession, openUnder } from '../../storage/locks';
import type { HasLibrary, Library } from '../library';
import type { LabStore } from '../sharing/lab-store';

/**
 * Seeing another's review before one's own is signed off: asked once, and kept. In a review that is under way it is an
 * entry of the log; for one that is not begun it waits in this browser and becomes the first entry of the log.
 */

/** A session whose reviews a rater who may still rate it would see. */
export interface BlindSession {
  readonly id: string;
  readonly title: string;
  /** Codes of those whose reviews would be shown. */
  readonly raters: readonly string[];
  /** The own review is under way. */
  readonly begun: boolean;
}

type By = UnblindedFact['by'];

interface Waiting {
  readonly at: string;
  readonly by: By;
  readonly raters: readonly string[];
}

const waiting = async (library: Library) => collection<Waiting>(await library.database(), 'setting');
const place = (session: string, rater: string) => ['unblinded', session, rater] as const;

/**
 * Of these sessions, those that `rater` may still rate blind and somebody else has rated. `ratersOf`: the codes of those
 * whose reviews would be shown; without it those whose reviews are in this browser.
 */
export async function blindSessions(
  library: Library,
  ids: readonly string[],
  rater: string,
  ratersOf: (id: string) => Promise<readonly string[]> | readonly string[] = id => library.raters(id),
): Promise<readonly BlindSession[]> {
  const kept = await waiting(library);
  const found = await Promise.all(
    ids.map(async (id): Promise<BlindSession[]> => {
      const raters = (await ratersOf(id)).filter(code => code !== rater);
      if (raters.length === 0 || (await kept.get(...place(id, rater)))) return [];
      const own = await library.log(id, rater);
      if (own && !mayBeUnblinded(own)) return [];
      const session = await library.session(id);
      return session ? [{ id, title: session.title, raters, begun: own !== null && hasRated(own) }] : [];
    }),
  );
  return found.flat();
}

function mayBeUnblinded(own: EditLog): boolean {
  const known = own.entries.some(e => e.fact?.kind === 'unblinded');
  return own.header.role === 'rater' && !isFinished(own) && !known;
}

/** Keeps that `rater` has seen the reviews of these sessions. Throws where a review is open for writing in another tab. */
export async function saveUnblinding(
  app: HasLibrary & { now(): Date },
  sessions: readonly BlindSession[],
  rater: string,
  by: By,
): Promise<void> {
  const { library } = app;
  for (const { id, title, raters } of sessions) {
    const at = app.now().toISOString();
    const lock = await lockSession(id, rater);
    if (!lock.held) throw new Error(`The review of ${title} by ${rater} is open in another tab: close it first.`);
    await openUnder(lock, async () => {
      const own = await library.log(id, rater);
      if (own && hasRated(own)) {
        await library.saveEntry(own.header, append(own, unblindedDraft(at, by, raters)).entry);
      } else await (await waiting(library)).put({ at, by, raters }, ...place(id, rater));
      lock.release();
    });
  }
}

interface SignedInHere extends HasLibrary {
  readonly labStore: Pick<LabStore, 'store'>;
  now(): Date;
}

/**
 * Of these sessions, those of which the rater is to be asked before others' reviews are shown. Whoever was given a session
 * to settle, and not to rate, is not asked: that they see the reviews is kept all the same.
 */
export async function sessionsToAskAbout(
  app: SignedInHere,
  ids: readonly string[],
  rater: string,
  by: By,
): Promise<readonly BlindSession[]> {
  const { signedIn, assignments } = app.labStore.store.getState();
  const places = (id: string) => assignments.filter(a => a.session === id).map(a => a.place);
  const found = await blindSessions(app.library, ids, rater);
  const settled = found.filter(({ id, begun }) => {
    return !begun && signedIn?.user === rater && places(id).join() === 'settles';
  });
  await saveUnblinding(app, settled, rater, by);
  return found.filter(s => !settled.includes(s));
}

/** Whether others' reviews of a session were shown under a code that has no review of it yet. */
export async function hasSeenOthers(library: Library, session: string, rater: string): Promise<boolean> {
  return (await (await waiting(library)).get(...place(session, rater))) !== null;
}

/** What was seen under a code stays with the code when its review goes to another. */
export async function saveSeen(library: Library, log: EditLog): Promise<void> {
  const seen = log.entries.find(e => e.fact?.kind === 'unblinded');
  if (seen?.fact?.kind !== 'unblinded') return;
  const { by, raters } = seen.fact;
  await (await waiting(library)).put({ at: seen.at, by, raters }, ...place(log.header.session, log.header.rater));
}

/** A log that is not begun starts with what its rater has seen; it is stored with the first entry that rates. */
export async function storedBeginning(library: Library, log: EditLog): Promise<readonly Draft[]> {
  if (hasRated(log)) return [];
  const seen = await (await waiting(library)).get(...place(log.header.session, log.header.rater));
  return seen ? [unblindedDraft(seen.at, seen.by, seen.raters)] : [];
}
