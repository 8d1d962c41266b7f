import type { EditLog } from '../../core/marks/log';
import { byOwnRecordings, underHandedNames, underOwnNames } from '../../core/review/privacy/leaving-handover';
import { isFinished } from '../../core/review/raters/blind';
import { isMerged, mergeSession } from '../../core/review/raters/merge';
import { readLoneLog, whyNotOf } from '../../formats/bundle/logs';
import { fileSource } from '../../formats/bytes/source';
import { openListedZip, returnPath } from '../../formats/handover/listed-zip';
import { type ReturnFile, returnFileSchema } from '../../formats/handover/records';
import { type Merging, sayIfAlike, storedChecksums, underLocks } from '../import/merging';
import { type Batch, type BatchPerson, batches } from './records';

type ReturnedSession = ReturnFile['sessions'][number];

/**
 * Takes a return in whole or not at all: every log has to be of the rater and of the batch, whole, on the signals that
 * were handed out, and to go on from what came before. Answers the ids of the sessions.
 */
export async function takeReturn(app: Merging, file: File): Promise<readonly string[]> {
  const opened = await openListedZip(fileSource(file), returnPath, returnFileSchema);
  const { list } = opened;
  const batch = await (await batches(app.library)).get(list.batch);
  const refuse = (why: string) => new Error(`${file.name} was not taken in, nothing of it: ${why}`);
  if (!batch) {
    throw refuse(
      `it belongs to the batch “${list.title}” (${list.batch}), which was not handed out from this browser. Open it where the assignments were made.`,
    );
  }
  const own = list.sessions.map(s => ownSession(batch, s));
  const strangers = whyNotOfBatch(batch, { ...list, sessions: own });
  if (strangers !== null) throw refuse(strangers);
  const logs: EditLog[] = [];
  const problems: string[] = [];
  for (const [i, listed] of list.sessions.entries()) {
    const kept = own[i]!;
    const read = readLog(new TextDecoder().decode(await opened.member(listed)), listed, list.rater);
    const log = typeof read === 'string' ? read : await underNamesHere(app, batch, kept.id, read);
    const problem = typeof log === 'string' ? log : await whyNotHere(app, batch, kept, log);
    if (problem !== null) problems.push(`${kept.id}: ${problem}`);
    if (typeof log !== 'string') logs.push(log);
  }
  if (problems.length > 0) throw refuse(problems.join(' '));
  await keepAll(app, file.name, batch, { ...list, sessions: own }, logs);
  return own.map(s => s.id);
}

/** What a return lists, by the ids under which it is kept here. */
function ownSession({ handedAs = {} }: Batch, listed: ReturnedSession): ReturnedSession {
  const found = Object.entries(handedAs).find(([, names]) => names.session === listed.id);
  return found ? { ...listed, id: found[0], signals: byOwnRecordings(listed.signals, found[1]) } : listed;
}

/** A log of a session that was handed out under other names, as one of the session here; else what is wrong with it. */
async function underNamesHere(app: Merging, { handedAs }: Batch, id: string, log: EditLog): Promise<EditLog | string> {
  const names = handedAs?.[id];
  const session = names && (await app.library.session(id));
  if (!session) return log;
  // Held against the marks before its chain is written again.
  const misfit = whyNotOf(log, underHandedNames(session, names));
  return misfit === null ? underOwnNames(log, session, names) : `${misfit}.`;
}

function whyNotOfBatch(batch: Batch, { rater, sessions }: ReturnFile): string | null {
  const person = batch.people.find(p => p.rater === rater);
  if (!person) {
    return `it is signed by ${rater}, to whom nothing of “${batch.title}” was handed out (${batch.people.map(p => p.rater).join(', ')}).`;
  }
  const other = sessions.find(s => !person.sessions.includes(s.id));
  if (other) return `it holds ${other.id}, which was not handed out to ${rater}.`;
  const ids = new Set(sessions.map(s => s.id));
  return ids.size < sessions.length ? 'it lists one session twice.' : null;
}

/** The log of a member, or what is wrong with it in words. */
function readLog(text: string, { id, entries }: ReturnedSession, rater: string): EditLog | string {
  const found = readLoneLog(text);
  if (!found) return 'it is not a review.';
  const { log, wrong } = found;
  if (wrong !== null) return `the review is damaged after entry ${log.entries.length} (${wrong}).`;
  if (log.header.rater !== rater) return `the review is signed by ${log.header.rater}, not by ${rater}.`;
  if (log.header.role !== 'rater') return 'it is a settlement, not a review.';
  if (log.header.session !== id) return `the review belongs to session ${log.header.session}.`;
  return log.entries.length === entries ? log : `it has ${log.entries.length} entries, not ${entries} as it lists.`;
}

async function whyNotHere(app: Merging, batch: Batch, listed: ReturnedSession, log: EditLog): Promise<string | null> {
  const session = await app.library.session(listed.id);
  if (!session) return 'the session is not kept in this browser any more. Import it again.';
  const before = await app.library.log(listed.id, log.header.rater);
  const incoming = { session, logs: [log] };
  const here = { session, logs: before ? [before] : [] };
  const handedOut = batch.signals[listed.id] ?? {};
  // What was reviewed is what was handed out, and what was handed out is still what is here.
  for (const signals of [
    { here: handedOut, incoming: listed.signals },
    { here: await storedChecksums(app, session), incoming: listed.signals },
  ]) {
    const outcome = mergeSession(here, incoming, signals);
    if (!isMerged(outcome)) return `${outcome.refused}${partsAtOnce(before, log) ? otherChoice : ''}`;
  }
  const misfit = whyNotOf(log, session);
  return misfit === null ? null : `${misfit}.`;
}

const otherChoice =
  ' If the rater left out other dates or remarks in an earlier return, ask for a return with the same choice.';

/** Whatever is left out changes the first entry already. */
const partsAtOnce = (before: EditLog | null, log: EditLog) =>
  before !== null && before.entries[0]?.hash !== log.entries[0]?.hash;

async function keepAll(
  app: Merging,
  name: string,
  batch: Batch,
  { rater, returnedAt, sessions }: ReturnFile,
  logs: readonly EditLog[],
): Promise<void> {
  const locks = sessions.map(s => [s.id, rater] as const);
  const added = await underLocks(name, locks, () => app.library.addLogs(logs));
  const isNews = added.some(a => a !== 'same');
  const people = await Promise.all(
    batch.people.map(async p => {
      if (p.rater !== rater) return p;
      return { ...p, returned: { at: lastReturn(p, returnedAt, isNews), ...(await reviewsHere(app, p)) } };
    }),
  );
  await (await batches(app.library)).put({ ...batch, people }, batch.id);
  const { finished } = await reviewsHere(app, { rater, sessions: sessions.map(s => s.id) });
  const count = (what: string) => added.filter(a => a === what).length;
  const reviews = logs.length === 1 ? '1 review' : `${logs.length} reviews`;
  app.ui.notify(
    `“${batch.title}”: ${reviews} of ${rater} taken in (${finished} finished): ${count('added')} new, ${count('extended')} went on, ${count('same')} as before.`,
    'done',
  );
  for (const log of logs) {
    const session = await app.library.session(log.header.session);
    if (session) await sayIfAlike(app, session, [rater]);
  }
}

/** An old return may be taken in after a newer one: it is not the last, whatever it adds. */
function lastReturn({ returned }: BatchPerson, at: string, isNews: boolean): string {
  const isOlder = returned !== null && (!isNews || (at !== '' && at < returned.at));
  return isOlder ? returned.at : at;
}

/** Of all the rater was given: what is here counts, not what one file holds. */
async function reviewsHere({ library }: Merging, { rater, sessions }: Pick<BatchPerson, 'rater' | 'sessions'>) {
  const logs = await Promise.all(sessions.map(id => library.log(id, rater)));
  const kept = logs.filter(log => log !== null);
  return { reviews: kept.length, finished: kept.filter(isFinished).length };
}
