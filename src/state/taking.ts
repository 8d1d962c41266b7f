import { type OpenedBundle, readBundle } from '../formats/bundle-reader';
import { fileSource } from '../formats/source';
import { openImporter } from '../workers/import';
import type { App } from './app';
import { mergeBundle } from './merging';

/** Stores what a session bundle holds: signals first, then the session, then every log, so that nothing half is listed. */
export async function takeBundle(app: App, file: File): Promise<string> {
  const bundle = await readBundle(fileSource(file));
  const { session, logs } = bundle.reviewed;
  const known = await app.library.session(session.id);
  if (known) await mergeBundle(app, file.name, bundle, known);
  else {
    await takeSignals(app, file, bundle);
    await app.library.keepSession(session);
    for (const log of logs) await app.library.addLog(log);
  }
  for (const warning of bundle.warnings) app.shell.notify(`${file.name}: ${warning}`);
  return session.id;
}

async function takeSignals(app: App, file: File, { reviewed }: OpenedBundle): Promise<void> {
  const importer = openImporter();
  let cancel = () => {};
  const job = app.shell.startJob(`Reading the signals of ${file.name}`, () => cancel());
  try {
    const running = importer.start('bundleSignals', { file, session: reviewed.session.id }, p =>
      job.progress(p.doneBytes / p.totalBytes, p.secondsLeft),
    );
    cancel = running.cancel;
    await running.done;
  } finally {
    job.end();
    importer.close();
  }
}
