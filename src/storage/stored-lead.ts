import { type Pieces, piecesOf, readAcross, wordCount, zeroWord } from '../core/recording/pieces';
import type { Lead, LeadSamples, SampleArray, SampleFormat } from '../core/recording/recording';
import type { ChunkCache } from './chunk-cache';
import { asStorageProblem, StorageProblem } from './problem';
import type { FileReading } from './signal-files';

/** One stored lead, read in cached chunks: an array at once when its chunks are in memory, else a promise. */
export interface StoredLead extends LeadSamples {
  /** While an import runs: what can be read now. */
  grow(now: Pick<Lead, 'sampleCount' | 'unrecorded'>): void;
}

export type LeadShape = Pick<Lead, 'format' | 'sampleCount' | 'unrecorded'> & Partial<Pick<Lead, 'offset'>>;

export interface FileLeadSource {
  /** Names the lead in the cache and in messages: `session/recording/lead/`. */
  readonly prefix: string;
  open(): Promise<FileReading | null>;
}

/** Words in one cached chunk: two minutes at 500 Hz, 128 kB of int16. */
const chunkSamples = 65_536;
/** Longer reads (a detector passing over a whole lead) bypass the cache, so they do not empty it. */
const longestCachedRead = 16 * chunkSamples;

export const arrayOf = { int16: Int16Array, int32: Int32Array, float32: Float32Array };

export class CachedLead implements StoredLead {
  private readonly loading = new Map<number, Promise<SampleArray>>();
  private file: Promise<FileReading | null> | null = null;
  private readonly format: SampleFormat;
  private readonly fill: number;
  private pieces: Pieces;
  /** Words kept. */
  private count: number;

  constructor(
    private readonly source: FileLeadSource,
    private readonly cache: ChunkCache<SampleArray>,
    shape: LeadShape,
  ) {
    this.format = shape.format;
    this.fill = zeroWord({ offset: 0, ...shape });
    this.pieces = piecesOf(shape);
    this.count = wordCount(shape);
  }

  get sampleCount(): number {
    return this.pieces.sampleCount;
  }

  grow(now: Pick<Lead, 'sampleCount' | 'unrecorded'>): void {
    this.pieces = piecesOf(now);
    this.count = wordCount(now);
    // A file handle shows the file as it was when it was opened.
    this.file = null;
  }

  read(start: number, end: number): SampleArray | Promise<SampleArray> {
    return readAcross(this.pieces, start, end, this.fill, (from, to) => this.words(from, to));
  }

  /** Kept words `[from, to)`. */
  private words(from: number, to: number): SampleArray | Promise<SampleArray> {
    if (to <= from) return new arrayOf[this.format](0);
    if (to - from > longestCachedRead) return this.fetch(from, to);
    const first = Math.floor(from / chunkSamples);
    const last = Math.floor((to - 1) / chunkSamples);
    const chunks = Array.from({ length: last - first + 1 }, (_, i) => this.cached(first + i));
    const offset = first * chunkSamples;
    const join = (parts: readonly SampleArray[]) => joined(parts, from - offset, to - offset, this.format);
    const now = chunks.every(c => c !== undefined)
      ? join(chunks)
      : Promise.all(chunks.map((c, i) => c ?? this.load(first + i))).then(join);
    this.readAhead(last + 1);
    this.readAhead(first - 1);
    return now;
  }

  private lengthOf(chunk: number): number {
    return Math.min(chunkSamples, this.count - chunk * chunkSamples);
  }

  private cached(chunk: number): SampleArray | undefined {
    const words = this.cache.get(this.source.prefix + chunk);
    return words && words.length >= this.lengthOf(chunk) ? words : undefined;
  }

  private load(chunk: number): Promise<SampleArray> {
    const running = this.loading.get(chunk);
    if (running) return running;
    const start = chunk * chunkSamples;
    const job = this.fetch(start, start + this.lengthOf(chunk))
      .then(words => {
        this.cache.set(this.source.prefix + chunk, words);
        return words;
      })
      .finally(() => this.loading.delete(chunk));
    this.loading.set(chunk, job);
    return job;
  }

  /** Neighbours are asked for after what is needed now, so that panning finds them in memory. */
  private readAhead(chunk: number): void {
    if (chunk >= 0 && this.lengthOf(chunk) > 0 && !this.cached(chunk)) this.load(chunk).catch(() => undefined);
  }

  private async fetch(start: number, end: number): Promise<SampleArray> {
    const Words = arrayOf[this.format];
    try {
      this.file ??= this.source.open();
      const reading = await this.file;
      if (!reading || reading.size < end * Words.BYTES_PER_ELEMENT) {
        throw new StorageProblem('gone', `${this.source.prefix}: samples ${start} to ${end} are not stored`);
      }
      return new Words(await reading.read(start * Words.BYTES_PER_ELEMENT, end * Words.BYTES_PER_ELEMENT));
    } catch (error) {
      this.file = null;
      throw asStorageProblem(error);
    }
  }
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
