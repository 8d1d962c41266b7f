import { columns, createColumns } from '../../../src/core/recording/columns';
import { span } from '../../../src/core/units';
import type { SignalFiles } from '../../../src/storage/signal-files';
import { createSignalWriter } from '../../../src/storage/signal-writer';
import { openSignalFiles, openSignalStore } from '../../../src/storage/signals';

/** Steps of the signal tests; the writing ones run inside `signal-worker.ts`, as they do in the application. */

export const ids = { session: 's1', recording: 'logger' };

/** Word `i` of a lead: cheap, different everywhere, and known to the reading side. */
export const wordAt = (lead: number, i: number): number => ((i * 2654435761 + lead * 977) >>> 16) - 32768;

export function errorMessage(lead: number, start: number, end: number): Int16Array {
  const words = new Int16Array(end - start);
  for (let i = start; i < end; i++) words[i - start] = wordAt(lead, i);
  return words;
}

export async function write(
  kind: SignalFiles['kind'],
  leads: number,
  samples: number,
  block: number,
  end: 'finish' | 'settle',
) {
  const files = await openSignalFiles(kind);
  const writer = await createSignalWriter(files, ids);
  for (let at = 0; at < samples; at += block) {
    for (let lead = 0; lead < leads; lead++)
      await writer.write(lead, errorMessage(lead, at, Math.min(samples, at + block)));
  }
  return { kind: files.kind, written: await writer[end]() };
}

/** Blocks of one lead, each followed by `gap` samples that were not recorded, but for the last. */
export async function writeApart(kind: SignalFiles['kind'], samples: number, block: number, gap: number) {
  const writer = await createSignalWriter(await openSignalFiles(kind), ids);
  for (let at = 0; at < samples; at += block) {
    if (at > 0) writer.skip(0, gap);
    await writer.write(0, errorMessage(0, at, Math.min(samples, at + block)));
  }
  return writer.finish();
}

/** What `writeApart` wrote, read across its gaps: words that are not as they should be, and bytes that are stored. */
export async function wrongAcross(kind: SignalFiles['kind'], samples: number, block: number, gap: number) {
  const files = await openSignalFiles(kind);
  const store = await openSignalStore(kind);
  const count = Math.ceil(samples / block) - 1;
  const unrecorded = Array.from({ length: count }, (_, k) => {
    const start = (k + 1) * block + k * gap;
    return span(start, start + gap);
  });
  const shape = { format: 'int16', offset: -5, sampleCount: samples + count * gap, unrecorded } as const;
  const lead = store.lead({ ...ids, lead: 0 }, shape);
  let wrong = 0;
  for (const [k, { start, end }] of unrecorded.entries()) {
    const edges = [...(await lead.read(start - 2, start + 2)), ...(await lead.read(end - 2, end + 2))];
    const word = (k + 1) * block;
    const expected = [wordAt(0, word - 2), wordAt(0, word - 1), -5, -5, -5, -5, wordAt(0, word), wordAt(0, word + 1)];
    if (String(edges) !== String(expected)) wrong++;
  }
  const pyramid = await store.pyramid({ ...ids, lead: 0 });
  const file = await files.open({ session: ids.session, recording: ids.recording, name: '0.words' });
  const holds = await store.holds({ ...ids, lead: 0 }, shape);
  const reaches = pyramid?.sampleCount === shape.sampleCount;
  return { wrong, bytes: file?.size, holds, reaches, gaps: pyramid?.unrecorded.length };
}

type Command = Parameters<typeof write>;

/** Runs `write` in a worker, which stays alive (with its files open when it only flushed) until the page goes. */
export function writeInWorker(...args: Command): ReturnType<typeof write> {
  return inWorker('write', args);
}

export function writeApartInWorker(...args: Parameters<typeof writeApart>): ReturnType<typeof writeApart> {
  return inWorker('writeApart', args);
}

function inWorker<T>(step: 'write' | 'writeApart', args: readonly unknown[]): Promise<T> {
  const worker = new Worker(new URL('./signal-worker.ts', import.meta.url), { type: 'module' });
  kept.push(worker);
  return new Promise((resolve, reject) => {
    worker.onmessage = ({ data }) => ('error' in data ? reject(new Error(data.error)) : resolve(data.answer));
    worker.onerror = event => reject(new Error(event.message));
    worker.postMessage({ step, args });
  });
}

const kept: Worker[] = [];

/** Reads stretches of all sizes at known places and counts words that differ from what was written. */
export async function wrongWords(kind: SignalFiles['kind'], leads: number, samples: number) {
  const store = await openSignalStore(kind);
  let wrong = 0;
  let read = 0;
  for (let lead = 0; lead < leads; lead++) {
    const stored = store.lead({ ...ids, lead }, { format: 'int16', sampleCount: samples });
    for (const [start, length] of stretches(samples)) {
      const words = await stored.read(start, start + length);
      const expected = errorMessage(lead, start, Math.min(samples, start + length));
      if (words.length !== expected.length) wrong++;
      for (let i = 0; i < expected.length; i++) if (words[i] !== expected[i]) wrong++;
      read += words.length;
    }
  }
  return { kind: store.kind, wrong, read };
}

function stretches(samples: number): [start: number, length: number][] {
  const out: [number, number][] = [
    [0, 10],
    [65_530, 12],
    [samples - 5, 100],
    [1000, 300_000],
    [0, samples],
  ];
  for (let i = 0; i < 40; i++) out.push([(i * 7919 * 31) % samples, 1 + ((i * 104_729) % 5000)]);
  return out;
}

export async function pyramidAgrees(kind: SignalFiles['kind'], samples: number) {
  const store = await openSignalStore(kind);
  const pyramid = await store.pyramid({ ...ids, lead: 0 });
  if (!pyramid) return null;
  const out = createColumns(200);
  columns(pyramid, null, 0, samples, 200, out);
  const words = errorMessage(0, 0, samples);
  let wrong = 0;
  for (let c = 0; c < out.count; c++) {
    const part = words.subarray(out.edges[c], out.edges[c + 1]);
    const lo = part.reduce((a, b) => Math.min(a, b));
    const hi = part.reduce((a, b) => Math.max(a, b));
    if (out.min[c] !== lo || out.max[c] !== hi) wrong++;
  }
  return { columns: out.count, wrong };
}

/** What a closed or running import leaves: words without a pyramid. */
export async function unfinished(kind: SignalFiles['kind'], samples: number) {
  const store = await openSignalStore(kind);
  const id = { ...ids, lead: 0 };
  return {
    holdsAll: await store.holds(id, { format: 'int16', sampleCount: samples }),
    holdsMore: await store.holds(id, { format: 'int16', sampleCount: samples * 2 }),
    pyramid: await store.pyramid(id),
  };
}

export async function removeAndRead(kind: SignalFiles['kind']) {
  const store = await openSignalStore(kind);
  await store.remove('s1');
  await store.remove('s1', 'logger');
  const lead = store.lead({ ...ids, lead: 0 }, { format: 'int16', sampleCount: 100 });
  const problem = await Promise.resolve(lead.read(0, 10)).then(
    () => null,
    (error: { kind?: string }) => error.kind,
  );
  return { problem, pyramid: await store.pyramid({ ...ids, lead: 0 }) };
}

/** Medians in ms of reading 10 s at 1000 Hz at random places: from disk, and again from memory. */
export async function readTimes(kind: SignalFiles['kind'], samples: number) {
  const store = await openSignalStore(kind);
  const lead = store.lead({ ...ids, lead: 0 }, { format: 'int16', sampleCount: samples });
  const places = Array.from({ length: 60 }, (_, i) => (i * 7_919_317) % (samples - 10_000));
  const timed = async () => {
    const times: number[] = [];
    for (const at of places) {
      const before = performance.now();
      await lead.read(at, at + 10_000);
      times.push(performance.now() - before);
    }
    return times.sort((a, b) => a - b)[30]!;
  };
  return { diskMs: await timed(), memoryMs: await timed() };
}
