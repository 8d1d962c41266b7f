import type { Session } from '../../core/review/session';
import { type OpenedBundle, readBundle } from '../../formats/bundle/reader';
import { fileSource } from '../../formats/bytes/source';
import { openImporter } from '../../workers/import';
import { type ImportJournal, type Journalling, openJournalOf } from './journal';
import { type Merging, mergeBundle, sayIfAlike } from './merging';

/** What taking in bundles needs of the page. */
export type TakingBundles = Merging & Journalling;

/**
 * Stores what a session bundle holds: signals first, then the session, then every log, so that nothing half is listed.
 * What fails on the way leaves nothing behind.
 */
export async function importBundle(app: TakingBundles, file: File): Promise<string> {
  const bundle = await readBundle(fileSource(file));
  const { session } = bundle.reviewed;
  // Two at once, as after a double click: the second must neither half see nor take back what the first is storing.
  const journal = await openJournalOf(app, session.id);
  try {
    const known = await app.library.session(session.id);
    if (known) {
      await mergeBundle(app, file.name, bundle, known);
      await takeAbsentSignals(app, file, bundle, known);
    } else {
      await takeWhole(app, file, bundle, journal);
      const { session: taken, logs } = bundle.reviewed;
      await sayIfAlike(
        app,
        taken,
        logs.map(l => l.header.rater),
      );
    }
  } finally {
    journal.release();
  }
  for (const warning of bundle.warnings) app.ui.notify(`${file.name}: ${warning}`);
  return session.id;
}

async function takeWhole(app: TakingBundles, file: File, bundle: OpenedBundle, journal: ImportJournal): Promise<void> {
  const { session, logs } = bundle.reviewed;
  try {
    for (const { recording } of session.recordings) await journal.begin(recording.id, file);
    const first = session.recordings[0]!.recording.id;
    await takeSignals(app, file, bundle, doneBytes => journal.progress(first, doneBytes / Math.max(1, file.size)));
    await app.library.saveSession(session);
    for (const log of logs) await app.library.addLog(log);
    await journal.end();
  } catch (error) {
    // What cannot be tidied up now is found on the next visit.
    await app.library
      .removeSession(session.id)
      .then(journal.remove)
      .catch(() => undefined);
    throw error;
  }
}

/** A browser may lose the signals of a session and keep the rest: the bundle brings them back. */
async function takeAbsentSignals(app: TakingBundles, file: File, bundle: OpenedBundle, known: Session): Promise<void> {
  const { absent } = await app.library.leads(known);
  if (absent.length === 0) return;
  await takeSignals(app, file, bundle);
  app.ui.notify(`${known.title}: the missing signals were restored.`, 'done');
}

/** Stores the signals of a session that is here without them, from its whole bundle. */
export async function restoreSignals(app: TakingBundles, file: File, session: Session): Promise<void> {
  const journal = await openJournalOf(app, session.id);
  try {
    await takeSignals(app, file, await readBundle(fileSource(file)));
  } finally {
    journal.release();
  }
}

async function takeSignals(
  app: TakingBundles,
  file: File,
  { reviewed }: OpenedBundle,
  onBytes: (doneBytes: number) => void = () => undefined,
): Promise<void> {
  const importer = openImporter();
  let cancel = () => {};
  const job = app.ui.startJob(`Reading the signals of ${file.name}`, () => cancel());
  try {
    const running = importer.start('bundleSignals', { file, session: reviewed.session.id }, p => {
      job.progress(p.doneBytes / p.totalBytes, p.secondsLeft);
      onBytes(p.doneBytes);
    });
    cancel = running.cancel;
    await running.done;
  } finally {
    job.end();
    importer.close();
  }
}
