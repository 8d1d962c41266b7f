import { createColumns, columns as fillColumns } from '../../../src/core/recording/columns';
import type { Session } from '../../../src/core/review/session';
import { openSignalStore } from '../../../src/storage/signals';
import { openAnalysis } from '../../../src/workers/analysis';
import { openImporter } from '../../../src/workers/import';
import type { ImportProgress } from '../../../src/workers/read-into-store';
import { plainEdfBlocks, plainWord } from '../../bench/plain-edf';

const ids = { session: 's1', recording: 'logger' };

const plain = (seconds: number) => ({ leads: 3, samplingRateHz: 250, seconds });

const edf = (seconds: number) => new File([...plainEdfBlocks(plain(seconds))], 'logger.edf');

/** Imports a file and compares everything stored with the words that made it. */
export async function importEdf(seconds: number) {
  const importer = openImporter();
  const reports: ImportProgress[] = [];
  const opened = await importer.start('edf', { file: edf(seconds), ids, options: {} }, p => reports.push(p)).done;
  importer.close();
  const store = await openSignalStore();
  let wrong = 0;
  let wrongColumns = 0;
  for (const [i, lead] of opened.recording.leads.entries()) {
    const words = await store.lead({ ...ids, lead: i }, lead).read(0, lead.sampleCount);
    for (let k = 0; k < lead.sampleCount; k++) if (words[k] !== plainWord(i, k, 250)) wrong++;
    const pyramid = await store.pyramid({ ...ids, lead: i });
    const out = createColumns(100);
    if (pyramid) fillColumns(pyramid, null, 0, lead.sampleCount, 100, out);
    for (let c = 0; c < out.count; c++) {
      if (out.max[c] !== Math.max(...words.subarray(out.edges[c], out.edges[c + 1]))) wrongColumns++;
    }
    if (out.count !== 100) wrongColumns++;
  }
  const leads = opened.recording.leads.map(l => [l.name, l.sampleCount, l.format]);
  return { leads, wrong, wrongColumns, lastBytes: reports.at(-1)?.doneBytes ?? 0 };
}

/** Reads what is reported as ready while the import goes on. */
export async function readWhileImporting(seconds: number) {
  const importer = openImporter();
  const store = await openSignalStore();
  const file = edf(seconds);
  let checks = 0;
  let wrong = 0;
  let earliest = Number.POSITIVE_INFINITY;
  let running: Promise<void> = Promise.resolve();
  const job = importer.start('edf', { file, ids, options: {} }, ({ ready, doneBytes }) => {
    if (!ready) return;
    running = running.then(async () => {
      const { pyramid, ...shape } = ready[2]!;
      const words = await store.lead({ ...ids, lead: 2 }, shape).read(shape.sampleCount - 500, shape.sampleCount);
      for (let k = 0; k < 500; k++) if (words[k] !== plainWord(2, shape.sampleCount - 500 + k, 250)) wrong++;
      if (pyramid.sampleCount !== shape.sampleCount) wrong++;
      earliest = Math.min(earliest, doneBytes / file.size);
      checks++;
    });
  });
  await job.done;
  await running;
  importer.close();
  return { checks, wrong, earliest };
}

export async function cancelImport(seconds: number) {
  const importer = openImporter();
  const job = importer.start('edf', { file: edf(seconds), ids, options: {} }, () => job.cancel());
  const name = await job.done.then(
    () => 'finished',
    (error: Error) => error.name,
  );
  const held = await (await openSignalStore()).holds({ ...ids, lead: 0 }, { format: 'int16', sampleCount: 1 });
  importer.close();
  return { name, held };
}

export async function importBroken() {
  const importer = openImporter();
  const file = new File(['0       not an EDF at all'], 'broken.edf');
  return importer.start('edf', { file, ids, options: {} }).done.then(
    () => null,
    (error: Error & { file?: string; remedy?: string }) => ({
      name: error.name,
      file: error.file,
      remedy: error.remedy,
    }),
  );
}

export async function detectStored(seconds: number) {
  const importer = openImporter();
  const opened = await importer.start('edf', { file: edf(seconds), ids, options: {} }).done;
  importer.close();
  const analysis = openAnalysis();
  const shares: number[] = [];
  const leads = [1, 2].map(lead => ({ id: { ...ids, lead }, lead: opened.recording.leads[lead]! }));
  const input = { leads, gaps: [] };
  const detection = await analysis.start('detect', input, ({ share }) => shares.push(share)).done;
  analysis.close();
  return { beats: [...detection.samples], shares: shares.length };
}

/** What is known of files before they are read. */
export async function lookAt() {
  const importer = openImporter();
  const csv = new File(
    ['time_s,ECG (mV)\n', ...Array.from({ length: 500 }, (_, i) => `${i / 250},${i % 7}\n`)],
    'x.bin',
  );
  const edfLook = await importer.start('look', { file: edf(60) }).done;
  const csvLook = await importer.start('look', { file: csv }).done;
  const stored = csvLook.text
    ? await importer.start('text', { file: csv, ids: { session: 's1', recording: 'text' }, layout: csvLook.text }).done
    : null;
  importer.close();
  return {
    edf: [edfLook.sniffed.format, edfLook.leads?.map(l => [l.name, l.samplingRateHz, l.sampleCount])],
    csv: [csvLook.sniffed.format, csvLook.text?.samplingRateHz],
    stored: [stored?.recording.id, stored?.recording.sampleCount],
  };
}

/** Out of the store into a bundle, and from the bundle into the store under another session. */
export async function bundleThere(seconds: number) {
  const importer = openImporter();
  const analysis = openAnalysis();
  const { recording } = await importer.start('edf', { file: edf(seconds), ids, options: {} }).done;
  const settings = { onPeakToleranceMs: 50, wrongPeakWindowMs: 400 };
  const detected = Int32Array.of(82, 332, 582);
  const recordings = [{ recording, detected, detectedBy: 'recorder', segments: [] }];
  const session: Session = { id: 's1', title: 'Training day', participant: 'V01', recordings, settings };
  const reviewed = { session, logs: [] };
  const blob = await analysis.start('bundle', { reviewed, options: {} }).done;
  const again = await analysis.start('bundle', { reviewed, options: {} }).done;
  analysis.close();
  const file = new File([blob], 'session.zip');
  const look = await importer.start('bundle', { file }).done;
  await importer.start('bundleSignals', { file, session: 's2' }).done;
  importer.close();
  const lead = (await openSignalStore()).lead({ session: 's2', recording: 'logger', lead: 2 }, recording.leads[2]!);
  const words = await lead.read(0, recording.sampleCount);
  let wrong = 0;
  for (const [k, word] of words.entries()) if (word !== plainWord(2, k, 250)) wrong++;
  const same = equalBytes(await blob.arrayBuffer(), await again.arrayBuffer());
  return { same, wrong, read: words.length, detected: [...(look.reviewed.session.recordings[0]?.detected ?? [])] };
}

function equalBytes(a: ArrayBuffer, b: ArrayBuffer): boolean {
  const left = new Uint8Array(a);
  const right = new Uint8Array(b);
  return left.length === right.length && left.every((byte, i) => byte === right[i]);
}

/** A worker that dies rejects its job; the next job gets a new worker. */
export async function closeInTheMiddle(seconds: number) {
  const importer = openImporter();
  const first = importer.start('edf', { file: edf(seconds), ids, options: {} });
  importer.close();
  const name = await first.done.then(
    () => 'finished',
    (error: Error) => error.name,
  );
  const second = await importer.start('edf', { file: edf(20), ids, options: {} }).done;
  importer.close();
  return { name, samples: second.recording.sampleCount };
}
