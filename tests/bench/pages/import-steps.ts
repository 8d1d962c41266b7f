import { openImporter } from '../../../src/workers/import';

const ids = { session: 'bench', recording: 'logger' };

/** Kept open, so that loading the worker's modules, which only this server does one by one, is not measured. */
const importer = openImporter();

function chosen(): File {
  const file = document.querySelector<HTMLInputElement>('#chosen')?.files?.[0];
  if (!file) throw new Error('no file was chosen');
  return file;
}

/** Milliseconds to import the chosen EDF file, until it is stored, and to the first report of something readable. */
export async function importChosen() {
  const file = chosen();
  const before = performance.now();
  let readyMs: number | null = null;
  const job = importer.start('edf', { file, ids, options: {} }, ({ ready }) => {
    if (ready) readyMs ??= performance.now() - before;
  });
  const opened = await job.done;
  const doneMs = performance.now() - before;
  return { doneMs, readyMs, samples: opened.recording.sampleCount };
}

/** Milliseconds to import the chosen text signal in one layout, as previewed, until it is stored. */
export async function importChosenText() {
  const file = chosen();
  const { text: layout } = await importer.start('look', { file }).done;
  if (!layout) throw new Error('the file is not taken for a text signal');
  const before = performance.now();
  const opened = await importer.start('text', { file, ids, layout }).done;
  return { doneMs: performance.now() - before, samples: opened.recording.sampleCount };
}

/** Milliseconds to read the chosen file in pieces of 4 MB and to copy each into one buffer. */
export async function copyChosen() {
  const file = chosen();
  const piece = new Uint8Array(4 * 1024 * 1024);
  const before = performance.now();
  for (let at = 0; at < file.size; at += piece.length) {
    piece.set(new Uint8Array(await file.slice(at, at + piece.length).arrayBuffer()));
  }
  return performance.now() - before;
}
