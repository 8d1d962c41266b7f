import { isMerged, mergeSession } from '../../core/review/raters/merge';
import { askingAs } from '../../core/review/required-practice';
import { type OpenedBundle, readBundle } from '../../formats/bundle/reader';
import { fileSource } from '../../formats/bytes/source';
import { assignmentEntry, openListedZip } from '../../formats/handover/listed-zip';
import { type AssignmentFile, assignmentFileSchema } from '../../formats/handover/records';
import { importBundle, type TakingBundles } from '../import/bundle';
import { storedChecksums } from '../import/merging';
import type { PrefsStore } from '../stores/prefs-store';
import { receivedAssignments } from './records';

export type Receiving = TakingBundles & { readonly prefs: Pick<PrefsStore, 'getState' | 'change'> };

interface Copy {
  readonly id: string;
  readonly file: File;
  readonly bundle: OpenedBundle;
}

/**
 * Takes an assignment in whole or, where something is wrong with it or with what is here, not at all. The browser reviews
 * under the code that it names from then on. Answers the ids of the sessions.
 */
export async function takeAssignment(app: Receiving, file: File): Promise<readonly string[]> {
  const { list, copies } = await unpacked(app, file);
  const fresh = await freshCopies(app, file.name, copies);
  const taken: string[] = [];
  try {
    for (const copy of fresh) {
      taken.push(copy.id);
      await importBundle(app, copy.file);
    }
    await keep(app, list, copies);
  } catch (error) {
    for (const id of taken) await app.library.removeSession(id).catch(() => undefined);
    throw error;
  }
  const before = app.prefs.getState().rater;
  app.prefs.change({ rater: list.rater });
  const now = app.prefs.getState().rater;
  const code =
    now !== list.rater
      ? ` You are signed in to the lab store as ${now}: sign out before you review as ${list.rater}.`
      : before === now
        ? ''
        : ` You now review as ${now}.`;
  const many = copies.length === 1 ? '1 session is' : `${copies.length} sessions are`;
  app.ui.notify(
    `“${list.title}”: ${many} assigned to ${list.rater}.${code} When you are done, return your reviews from the page Lab store.`,
    'done',
  );
  return copies.map(c => c.id);
}

async function unpacked(app: Receiving, file: File): Promise<{ list: AssignmentFile; copies: readonly Copy[] }> {
  const opened = await openListedZip(fileSource(file), assignmentEntry, assignmentFileSchema);
  const stop = new AbortController();
  const job = app.ui.startJob(`Checking ${file.name}`, () => stop.abort());
  try {
    const copies: Copy[] = [];
    for (const listed of opened.list.sessions) {
      const parts: Blob[] = [];
      await opened.unpack(listed, bytes => void parts.push(new Blob([bytes.slice()])), {
        signal: stop.signal,
        onProgress: (done, total) => job.progress(done / total),
      });
      const copy = new File(parts, `${listed.id}.zip`);
      const bundle = await readBundle(fileSource(copy));
      if (bundle.reviewed.session.id !== listed.id) {
        throw new Error(`${file.name} was not taken in: what it lists as ${listed.id} is another session.`);
      }
      if (bundle.reviewed.logs.length > 0) {
        throw new Error(`${file.name} was not taken in: it holds a review of ${listed.id}, so it is not blind.`);
      }
      copies.push({ id: listed.id, file: copy, bundle });
    }
    return { list: opened.list, copies };
  } catch (error) {
    if (stop.signal.aborted) throw new Error(`Opening ${file.name} was cancelled. Nothing was taken in.`);
    throw error;
  } finally {
    job.end();
  }
}

/** Those that are not here yet, or without their signals. Throws when one that is here is another. */
async function freshCopies(app: Receiving, name: string, copies: readonly Copy[]): Promise<readonly Copy[]> {
  const fresh: Copy[] = [];
  for (const copy of copies) {
    const here = await app.library.session(copy.id);
    if (!here) {
      fresh.push(copy);
      continue;
    }
    const signals = { here: await storedChecksums(app, here), incoming: copy.bundle.signalChecksums };
    const outcome = mergeSession({ session: here, logs: [] }, copy.bundle.reviewed, signals);
    if (!isMerged(outcome)) {
      throw new Error(`${name} was not taken in: ${here.title} is kept in this browser already. ${outcome.refused}`);
    }
    const asking = askingAs(here, copy.bundle.reviewed.session);
    if (asking !== here) await app.library.saveSession(asking);
    // Not among those that are taken back on a failure: it was here before.
    if ((await app.library.leads(here)).absent.length > 0) await importBundle(app, copy.file);
  }
  return fresh;
}

async function keep(app: Receiving, list: AssignmentFile, copies: readonly Copy[]): Promise<void> {
  const { batch, title, rater, due } = list;
  const sessions = copies.map(({ id, bundle }) => ({
    id,
    title: bundle.reviewed.session.title,
    signals: bundle.signalChecksums,
  }));
  const received = { batch, title, rater, due, receivedAt: app.now().toISOString(), sessions };
  await (await receivedAssignments(app.library)).put(received, batch, rater);
}
