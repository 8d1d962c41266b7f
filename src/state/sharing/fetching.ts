import { sessionDifference } from '../../core/review/raters/merge';
import { askingAs } from '../../core/review/required-practice';
import type { Session } from '../../core/review/session';
import { type OpenedBundle, readBundle } from '../../formats/bundle/reader';
import { FormatError } from '../../formats/format-error';
import type { Assignment, StoredSession } from '../../remote/records';
import { RemoteError } from '../../remote/remote-error';
import { readManifest } from '../../remote/session-parts';
import { type RangedBundle, saveParts, storedBundle } from '../../remote/stored-bundle';
import { readStoredLog } from '../../remote/stored-log';
import { type FetchedParts, openFetchedParts, removeFetchedParts } from '../../storage/fetched-parts';
import { roomLeft } from '../../storage/persistence';
import { StorageProblem } from '../../storage/problem';
import { errorMessage } from '../error-message';
import { restoreSignals } from '../import/bundle';
import type { ArrivingSignals } from '../review/arriving';
import { type LabStore, remoteWords, type SharingParts, type SignedIn } from './lab-store';
import { sendOwnLog } from './own-logs';
import { remoteLeads } from './remote-leads';

export type Fetching = SharingParts & { readonly arriving: ArrivingSignals };

/** Room that is left to the reviews of this browser, which are what must not be lost: so much, where it says what it has. */
const reserveBytes = 32 * 2 ** 20;
/** If storage fills up anyway, this many parts of 4 MiB are deleted. */
const partsGivenUp = 2;
/** The strip's first words go before everything else for so long, ms. */
const firstWordsMs = 3000;
const retryMs = 5000;

/**
 * Fetches an assigned session: what it is and the rater's own log first, so that it can be opened and reviewed with its
 * signals read from the store by ranges; then, behind the returned promise, all of its signals, to be kept here. What
 * broke off goes on from where it was.
 */
export async function fetchAssigned(
  parts: Fetching,
  lab: LabStore,
  sessionId: string,
  wordsFirstMs = firstWordsMs,
): Promise<void> {
  const { signedIn, assignments, fetching } = lab.store.getState();
  const assignment = assignments.find(a => a.session === sessionId);
  if (!signedIn || !assignment || fetching.has(sessionId)) return;
  lab.store.setState({ fetching: new Set(fetching).add(sessionId) });
  const end = () => lab.store.setState(s => ({ fetching: new Set([...s.fetching].filter(id => id !== sessionId)) }));
  let rest: Promise<void> | null = null;
  try {
    const arrival = await begin(parts, lab, signedIn, assignment, wordsFirstMs);
    rest = arrival && fetchRest(parts, arrival);
    await sendOwnLog(parts, lab, sessionId, null);
    if (arrival && !arrival.readable) await rest;
  } finally {
    if (rest) void rest.finally(end);
    else end();
  }
}

interface Arrival {
  readonly session: Session;
  readonly signedIn: SignedIn;
  readonly lab: LabStore;
  readonly manifest: StoredSession;
  readonly kept: FetchedParts;
  readonly source: RangedBundle;
  /** Whether the signals can be read by ranges. */
  readonly readable: boolean;
  /** Resolves when the first words of a signal are here, or were not asked for in time. */
  readonly firstWords: Promise<void>;
}

/** Stores what the session is; null when its signals are here already. */
async function begin(
  parts: Fetching,
  lab: LabStore,
  signedIn: SignedIn,
  { session: id, manifest: hash }: Assignment,
  wordsFirstMs: number,
): Promise<Arrival | null> {
  const manifest = await readManifest(signedIn.remote, id, hash);
  const kept = await openFetchedParts(id);
  const source = storedBundle(signedIn.remote, manifest, kept);
  const bundle = await readBundle(source);
  const session = await keptSession(parts, signedIn, bundle);
  if ((await parts.library.leads(session)).absent.length === 0) {
    await removeFetchedParts(id);
    return null;
  }
  let onWords: () => void = () => undefined;
  const firstWords = new Promise<void>(resolve => {
    onWords = resolve;
    setTimeout(resolve, wordsFirstMs);
  });
  const patiently = <T>(read: () => Promise<T>) => whileSignedIn(lab, signedIn, read, () => undefined);
  const leads = await remoteLeads(bundle, { patiently, onWords });
  if (leads) parts.arriving.begin(id, leads);
  return { session, signedIn, lab, manifest, kept, source, readable: leads !== null, firstWords };
}

async function keptSession(
  { library }: Fetching,
  { remote, user }: SignedIn,
  { reviewed }: OpenedBundle,
): Promise<Session> {
  const { session } = reviewed;
  const here = await library.session(session.id);
  if (!here) {
    // What was done on another machine comes first: a session that can be opened without it would be begun once more.
    const own = await readStoredLog(remote, user, session.id);
    if (own.branches.length === 1) await library.addLog(own.branches[0]!);
    await library.saveSession(session);
    return session;
  }
  const difference = sessionDifference(here, session);
  if (difference !== null) throw new Error(`${here.title} in this browser is not the same recording: ${difference}`);
  const asking = askingAs(here, session);
  if (asking !== here) await library.saveSession(asking);
  return asking;
}

/** Never rejects: what went wrong is said, and what was fetched is kept. */
async function fetchRest(parts: Fetching, arrival: Arrival): Promise<void> {
  const { session, signedIn, lab, manifest, kept, source } = arrival;
  const stop = new AbortController();
  const title = `Fetching the signals of ${session.title}`;
  const job = parts.ui.startJob(title, () => stop.abort());
  try {
    job.progress((await keptBytes(manifest, kept)) / manifest.bytes);
    await arrival.firstWords;
    const before = async (_: number, left: number) => {
      await source.idle();
      if (lab.store.getState().signedIn !== signedIn || !(await parts.library.session(session.id))) stop.abort();
      if (!stop.signal.aborted) await needRoom(left + manifest.bytes);
    };
    const onProgress = (done: number, total: number) => job.progress(done / total);
    const keep = () => saveParts(signedIn.remote, manifest, kept, { signal: stop.signal, onProgress, before });
    await whileSignedIn(lab, signedIn, keep, () => job.progress(null));
    await restoreSignals(parts, await wholeFile(manifest, kept), session);
    await removeFetchedParts(session.id);
    parts.arriving.stored(session.id);
    parts.ui.notify(`${session.title}: all signals are kept in this browser; you can work offline.`, 'done');
  } catch (error) {
    const gone = (await parts.library.session(session.id).catch(() => null)) === null;
    // What does not make the bundle is of no use to the next try.
    if (gone || error instanceof FormatError) await removeFetchedParts(session.id);
    if (isFull(error) && !(await reviewsHaveRoom())) await makeRoom(manifest, kept);
    const words = stoppedWords(arrival, await keptBytes(manifest, kept), stop.signal.aborted ? null : error);
    if (!gone) parts.ui.notify(words);
  } finally {
    job.end();
  }
}

const isFull = (error: unknown) => error instanceof StorageProblem && error.kind === 'full';

async function makeRoom({ parts }: StoredSession, kept: FetchedParts): Promise<void> {
  let left = partsGivenUp;
  for (const { sha256 } of parts.toReversed()) {
    if (left === 0) return;
    if (!(await kept.has(sha256))) continue;
    await kept.remove(sha256);
    left--;
  }
}

async function keptBytes({ parts }: StoredSession, kept: FetchedParts): Promise<number> {
  let sum = 0;
  for (const { sha256, bytes } of parts) if (await kept.has(sha256)) sum += bytes;
  return sum;
}

/** Throws as a full disk does where reviews would be left without room. */
async function needRoom(bytes: number): Promise<void> {
  const left = await roomLeft();
  if (left === null || left >= bytes + reserveBytes) return;
  throw new StorageProblem('full', `${megabytes(bytes)} MB are needed and ${megabytes(Math.max(0, left))} MB are left`);
}

/** Whether what was fetched leaves enough storage for the reviews of this browser, so that none of it has to be deleted. */
async function reviewsHaveRoom(): Promise<boolean> {
  const left = await roomLeft();
  return left !== null && left >= reserveBytes;
}

const megabytes = (bytes: number) => Math.round(bytes / 2 ** 20);

function stoppedWords({ session: { title }, manifest }: Arrival, fetched: number, error: unknown): string {
  const so = `${megabytes(fetched)} of ${megabytes(manifest.bytes)} MB are kept, and no review is touched.`;
  const on = 'Continue on the page Lab store.';
  if (error === null) return `${title}: fetching its signals was stopped. ${so} ${on}`;
  const begin = `${title}: its signals were not fetched to the end.`;
  if (isFull(error)) return `${begin} ${errorMessage(error)} ${so} ${on}`;
  return `${begin} Reason: ${remoteWords(error)}. ${so} ${on}`;
}

/** The bundle from its parts; their bytes may stay on the disk. */
async function wholeFile({ session, parts }: StoredSession, kept: FetchedParts): Promise<File> {
  const blobs: Blob[] = [];
  for (const { sha256 } of parts) {
    const blob = await kept.blob(sha256);
    if (!blob) throw new StorageProblem('gone', 'a part that was fetched is missing');
    blobs.push(blob);
  }
  return new File(blobs, `${session}.zip`);
}

/** Repeats what fails for want of a connection, for as long as the same person is signed in. */
async function whileSignedIn<T>(
  lab: LabStore,
  signedIn: SignedIn,
  work: () => Promise<T>,
  waiting: () => void,
): Promise<T> {
  for (;;) {
    try {
      return await work();
    } catch (error) {
      const passing = error instanceof RemoteError && (error.problem === 'offline' || error.problem === 'busy');
      if (!passing || lab.store.getState().signedIn !== signedIn) throw error;
      waiting();
      await new Promise(resolve => setTimeout(resolve, retryMs));
    }
  }
}
