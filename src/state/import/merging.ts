import { sha256 } from '@noble/hashes/sha2.js';
import { bytesToHex } from '@noble/hashes/utils.js';
import { piecesOf, stretches, wordCount } from '../../core/recording/pieces';
import { alikeCodes } from '../../core/review/raters/compare';
import { isMerged, mergeSession, type SignalChecksums } from '../../core/review/raters/merge';
import { joinedSamples } from '../../core/review/raters/shared-samples';
import { askingAs } from '../../core/review/required-practice';
import type { Session } from '../../core/review/session';
import { sampleBytes } from '../../formats/bundle/layout';
import type { OpenedBundle } from '../../formats/bundle/reader';
import { lockBriefly, type SessionLock } from '../../storage/locks';
import type { HasLibrary } from '../library';
import type { HasUi, Jobs, Notices } from '../stores/ui-store';
import { withoutOldCopies, withoutStoredCopies } from './reassigned';

/** What taking in reviews needs of the page. */
export type Merging = HasLibrary & HasUi<Jobs & Notices>;

/**
 * Takes the reviews of a bundle into a session that is here already. Recordings, detected marks and signals must be the
 * same, else nothing is taken and the difference is named. Says what was added; taking it again adds nothing.
 */
export async function mergeBundle(
  app: Merging,
  fileName: string,
  bundle: Pick<OpenedBundle, 'reviewed' | 'signalChecksums'>,
  here: Session,
): Promise<void> {
  const { taken, remarks } = await withoutOldCopies(app.library, here.id, bundle.reviewed.logs);
  const incoming = { ...bundle.reviewed, logs: taken };
  const logs = [];
  for (const { header } of incoming.logs) {
    const log = await app.library.log(here.id, header.rater);
    if (log) logs.push(log);
  }
  // Cheap differences first: hashing the signals of a long recording takes a while.
  const first = mergeSession({ session: here, logs }, incoming);
  const withSignals = Object.keys(bundle.signalChecksums).length > 0;
  const outcome =
    isMerged(first) && withSignals
      ? mergeSession({ session: here, logs }, incoming, {
          here: await storedChecksums(app, here),
          incoming: bundle.signalChecksums,
        })
      : first;
  if (!isMerged(outcome)) throw new Error(`${fileName} was not imported. ${outcome.refused}`);
  const changing = [...outcome.added, ...outcome.extended].map(rater => [here.id, rater] as const);
  await underLocks(fileName, changing, async () => {
    for (const log of incoming.logs) {
      if ((await app.library.addLog(log)) === 'differs') {
        throw new Error(`${fileName}: the review of ${log.header.rater} was changed meanwhile; it was left as it is.`);
      }
    }
  });
  const joined = askingAs(joinedSamples(here, incoming.session), incoming.session);
  if (joined !== here) await app.library.saveSession(joined);
  app.ui.notify(`${here.title}: ${addedWords(outcome)}`, 'done');
  remarks.push(...outcome.remarks, ...(await withoutStoredCopies(app.library, taken)));
  for (const remark of remarks) app.ui.notify(`${here.title}: ${remark}`);
  await sayIfAlike(app, here, [...outcome.added, ...outcome.extended]);
}

/** Where reviews that came in are signed with a code that is here in other letters, the person is to know how they count. */
export async function sayIfAlike(
  { library, ui }: Merging,
  { id, title }: Pick<Session, 'id' | 'title'>,
  raters: readonly string[],
): Promise<void> {
  const stored = raters.length > 0 ? await library.raters(id) : [];
  for (const rater of raters) {
    const alike = alikeCodes(stored.filter(other => other.toLowerCase() === rater.toLowerCase()));
    if (alike === null) continue;
    ui.notify(
      `${title}: ${alike}, whose second review is a repeated rating. If these are two people, one of them needs another code.`,
    );
  }
}

/**
 * A review that grows behind the back of whoever has it open would refuse their next entry: it is locked or left alone.
 * Another import in this tab waits for this one; the locks are taken in one order, so that two never wait for each other.
 */
export async function underLocks<T>(
  fileName: string,
  reviews: readonly (readonly [session: string, rater: string])[],
  work: () => Promise<T>,
): Promise<T> {
  const locks: SessionLock[] = [];
  try {
    for (const [session, rater] of reviews.toSorted(byName)) {
      const lock = await lockBriefly(session, rater);
      locks.push(lock);
      if (!lock.held) {
        throw new Error(
          `${fileName} was not imported: the review of ${rater} is open. Leave it, here or in the other tab, then open this file again.`,
        );
      }
    }
    return await work();
  } finally {
    for (const lock of locks) lock.release();
  }
}

const byName = (a: readonly string[], b: readonly string[]) => (a.join('/') < b.join('/') ? -1 : 1);

function addedWords({ added, extended }: { added: readonly string[]; extended: readonly string[] }): string {
  const parts: string[] = [];
  if (added.length > 0) parts.push(`added the review of ${added.join(' and of ')}`);
  if (extended.length > 0) parts.push(`the review of ${extended.join(' and of ')} went on`);
  return parts.length > 0 ? `${parts.join('; ')}.` : nothingNew;
}

export const nothingNew = 'nothing new in this bundle.';

const wordsPerBlock = 1 << 18;

/** SHA-256 of the stored words of each recording, lead by lead; a recording not stored in full has none. */
export async function storedChecksums(app: Merging, session: Session): Promise<SignalChecksums> {
  const { sources } = await app.library.leads(session);
  const out: Record<string, string> = {};
  for (const { recording } of session.recordings) {
    const leads = (sources.get(recording.id) ?? []).filter(l => l !== undefined);
    if (leads.length < recording.leads.length || leads.length === 0) continue;
    const job = app.ui.startJob(`Comparing the signals of ${recording.recorder}`);
    const total = leads.reduce((n, { lead }) => n + wordCount(lead), 0);
    const hashes: string[] = [];
    let done = 0;
    for (const { lead, samples } of leads) {
      const hash = sha256.create();
      for (const { start, end, recorded } of stretches(piecesOf(lead), 0, lead.sampleCount, wordsPerBlock)) {
        if (!recorded) continue;
        const words = await samples.read(start, end);
        hash.update(sampleBytes(words));
        done += words.length;
        job.progress(done / total);
      }
      hashes.push(bytesToHex(hash.digest()));
    }
    job.end();
    out[recording.id] = hashes.join(' ');
  }
  return out;
}
