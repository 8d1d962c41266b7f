import { type Pyramid, pyramidFromBuffer } from '../core/recording/pyramid';
import type { Lead, LeadSamples, SampleArray, SampleFormat } from '../core/recording/recording';
import { openBlobFiles } from './blob-files';
import { ChunkCache } from './chunk-cache';
import { openOpfs } from './opfs';
import { asStorageProblem, StorageProblem } from './problem';
import type { FilePath, FileReading, SignalFiles } from './signal-files';

/** Which lead: session id, recording id, position of the lead in the recording. */
export interface LeadId {
  readonly session: string;
  readonly recording: string;
  readonly lead: number;
}

/** One stored lead, read in cached chunks: an array at once when its chunks are in memory, else a promise. */
export interface StoredLead extends LeadSamples {
  /** While an import runs: so many samples can be read now. */
  grow(sampleCount: number): void;
}

export interface SignalStore {
  readonly kind: SignalFiles['kind'];
  lead(id: LeadId, shape: Pick<Lead, 'format' | 'sampleCount'>): StoredLead;
  /** Null when it was not written, as with an import that was left unfinished. */
  pyramid(id: LeadId): Promise<Pyramid | null>;
  /** Whether the words of this lead are stored in full. */
  holds(id: LeadId, shape: Pick<Lead, 'format' | 'sampleCount'>): Promise<boolean>;
  /** Removes the signals of a session, or of one recording, from disk and memory. */
  remove(session: string, recording?: string): Promise<void>;
}

/** Samples in one cached chunk: two minutes at 500 Hz, 128 kB of int16. */
const chunkSamples = 65_536;
/** Longer reads (a detector passing over a whole lead) bypass the cache, so they do not empty it. */
const longestCachedRead = 16 * chunkSamples;
const cacheBudgetBytes = 64 * 1024 * 1024;

export const bytesPerSample: Readonly<Record<SampleFormat, number>> = { int16: 2, int32: 4, float32: 4 };

const arrayOf = { int16: Int16Array, int32: Int32Array, float32: Float32Array };

export const wordsPath = ({ session, recording, lead }: LeadId): FilePath => {
  return { session, recording, name: `${lead}.words` };
};
export const pyramidPath = (id: LeadId): FilePath => ({ ...wordsPath(id), name: `${id.lead}.pyramid` });

/** The best place this browser has. `prefer` is for trying the fallback where the better one exists. */
export async function openSignalFiles(prefer: SignalFiles['kind'] = 'opfs'): Promise<SignalFiles> {
  try {
    return (prefer === 'opfs' ? await openOpfs() : null) ?? (await openBlobFiles());
  } catch (error) {
    throw asStorageProblem(error);
  }
}

export async function openSignalStore(prefer?: SignalFiles['kind']): Promise<SignalStore> {
  const files = await openSignalFiles(prefer);
  const cache = new ChunkCache<SampleArray>(cacheBudgetBytes);
  return {
    kind: files.kind,
    lead: (id, shape) => storedLead(files, cache, id, shape),
    async pyramid(id) {
      const file = await open(files, pyramidPath(id));
      return file && pyramidFromBuffer(await file.read(0, file.size));
    },
    async holds(id, { format, sampleCount }) {
      const file = await open(files, wordsPath(id));
      return file !== null && file.size >= sampleCount * bytesPerSample[format];
    },
    async remove(session, recording) {
      cache.deleteUnder(recording === undefined ? `${session}/` : `${session}/${recording}/`);
      await files.remove(session, recording).catch(error => {
        throw asStorageProblem(error);
      });
    },
  };
}

async function open(files: SignalFiles, path: FilePath): Promise<FileReading | null> {
  try {
    return await files.open(path);
  } catch (error) {
    throw asStorageProblem(error);
  }
}

type Shape = Pick<Lead, 'format' | 'sampleCount'>;

function storedLead(files: SignalFiles, cache: ChunkCache<SampleArray>, id: LeadId, shape: Shape): StoredLead {
  const bytes = bytesPerSample[shape.format];
  const prefix = `${id.session}/${id.recording}/${id.lead}/`;
  const loading = new Map<number, Promise<SampleArray>>();
  let sampleCount = shape.sampleCount;
  let file: Promise<FileReading | null> | null = null;

  const fetchWords = async (start: number, end: number): Promise<SampleArray> => {
    file ??= open(files, wordsPath(id));
    const reading = await file;
    if (!reading || reading.size < end * bytes) {
      file = null;
      throw new StorageProblem('gone', `lead ${id.lead} of ${id.recording}: samples ${start} to ${end} are not stored`);
    }
    try {
      return new arrayOf[shape.format](await reading.read(start * bytes, end * bytes));
    } catch (error) {
      file = null;
      throw asStorageProblem(error);
    }
  };
  const chunkLength = (chunk: number) => Math.min(chunkSamples, sampleCount - chunk * chunkSamples);
  const cached = (chunk: number): SampleArray | undefined => {
    const words = cache.get(prefix + chunk);
    return words && words.length >= chunkLength(chunk) ? words : undefined;
  };
  const load = (chunk: number): Promise<SampleArray> => {
    const running = loading.get(chunk);
    if (running) return running;
    const start = chunk * chunkSamples;
    const job = fetchWords(start, start + chunkLength(chunk))
      .then(words => {
        cache.set(prefix + chunk, words);
        return words;
      })
      .finally(() => loading.delete(chunk));
    loading.set(chunk, job);
    return job;
  };
  const readAhead = (chunk: number): void => {
    if (chunk >= 0 && chunkLength(chunk) > 0 && !cached(chunk)) load(chunk).catch(() => undefined);
  };

  return {
    get sampleCount() {
      return sampleCount;
    },
    grow(count) {
      sampleCount = count;
      file = null;
    },
    read(start, end) {
      const from = Math.max(0, start);
      const to = Math.min(sampleCount, end);
      if (to <= from) return new arrayOf[shape.format](0);
      if (to - from > longestCachedRead) return fetchWords(from, to);
      const first = Math.floor(from / chunkSamples);
      const last = Math.floor((to - 1) / chunkSamples);
      const chunks = Array.from({ length: last - first + 1 }, (_, i) => cached(first + i));
      readAhead(first - 1);
      readAhead(last + 1);
      const offset = first * chunkSamples;
      const join = (parts: readonly SampleArray[]) => joined(parts, from - offset, to - offset, shape.format);
      if (chunks.every(c => c !== undefined)) return join(chunks);
      return Promise.all(chunks.map((c, i) => c ?? load(first + i))).then(join);
    },
  };
}

/** Words `[start, end)` of chunks laid end to end; a view when one chunk holds them all. */
function joined(chunks: readonly SampleArray[], start: number, end: number, format: SampleFormat): SampleArray {
  const only = chunks[0]!;
  if (chunks.length === 1) return only.subarray(start, end);
  const out = new arrayOf[format](end - start);
  for (const [i, chunk] of chunks.entries()) {
    const at = i * chunkSamples;
    const from = Math.max(start, at);
    out.set(chunk.subarray(from - at, Math.min(end, at + chunk.length) - at), from - start);
  }
  return out;
}
