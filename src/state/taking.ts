import { type OpenedBundle, readBundle } from '../formats/bundle-reader';
import { fileSource } from '../formats/source';
import { openImporter } from '../workers/import';
import type { App } from './app';

/** Stores what a session bundle holds: signals first, then the session, then every log, so that nothing half is listed. */
export async function takeBundle(app: App, file: File): Promise<string> {
  const bundle = await readBundle(fileSource(file));
  const { session, logs } = bundle.reviewed;
  const known = await app.library.session(session.id);
  if (known) app.shell.say(`${session.title} is here already: its signals were left as they are.`);
  else await takeSignals(app, file, bundle);
  if (!known) await app.library.keepSession(session);
  for (const log of logs) {
    const outcome = await app.library.addLog(log);
    if (outcome === 'differs') {
      app.shell.notify(
        `The log of ${log.header.rater} in ${file.name} differs from the one kept here, which was left as it is.`,
      );
    }
  }
  for (const warning of bundle.warnings) app.shell.notify(`${file.name}: ${warning}`);
  return session.id;
}

async function takeSignals(app: App, file: File, bundle: OpenedBundle): Promise<void> {
  const importer = openImporter();
  try {
    for (const { recording } of bundle.reviewed.session.recordings) {
      const ids = { session: bundle.reviewed.session.id, recording: recording.id };
      let cancel = () => {};
      const job = app.shell.startJob(`Reading ${recording.recorder} of ${file.name}`, () => cancel());
      try {
        const running = importer.start('bundleRecording', { file, ids }, p =>
          job.progress(p.doneBytes / p.totalBytes, p.secondsLeft),
        );
        cancel = running.cancel;
        await running.done;
      } finally {
        job.end();
      }
    }
  } finally {
    importer.close();
  }
}
