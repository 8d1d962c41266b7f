import { addStretch } from '../../core/recording/pieces';
import type { Span } from '../../core/units';
import type { ByteSource, ReadControl, SampleSink } from '../bytes/source';
import { blockBytes } from '../bytes/source';
import { FormatError } from '../format-error';
import { checkTimeline } from '../timeline';
import type { EdfAnnotation } from './annotations';
import { edfTexts, parseTals } from './annotations';
import type { EdfHeader, EdfSignal } from './header';
import type { EdfLead } from './leads';

/** Sample at or nearest to a time; the tiny push settles times that a decimal text left a hair below a half. */
export function nearestSample(seconds: number, samplingRateHz: number): number {
  return Math.floor(seconds * samplingRateHz + 0.5 + 1e-4);
}

const largestChannelBytes = 2 ** 26;

/** Streams the data records of one file to a sink. Use once. */
export class EdfRecords {
  /** How far each lead has come on its time line. */
  readonly reached: number[];
  /** By lead, in its samples: stretches of which the file has no words. */
  readonly unrecorded: readonly Span[][];
  readonly annotations: EdfAnnotation[] = [];
  /** In samples of the reference lead. */
  readonly gaps: Span[] = [];
  /** Seconds from the header's start time to the first sample (EDF+ allows a fraction). */
  firstOnset = 0;

  private readonly channels: readonly EdfSignal[];
  private readonly fastestHz: number;
  private readonly limit: number[];
  private readonly out: EdfSamples[];
  private readonly onsets: Float64Array;
  private readonly recordsPerBlock: number;
  private runOnset = 0;
  private lastOnset = 0;
  private runRecords = 0;
  private unclean = 0;
  private missingOnsets = 0;
  private overlaps = 0;
  private previousOnset = 0;
  private jumped = 0;
  private worstOverlapSeconds = 0;

  constructor(
    private readonly source: ByteSource,
    private readonly header: EdfHeader,
    private readonly leads: readonly EdfLead[],
    private readonly reference: number,
    private readonly sink: SampleSink,
    private readonly control: ReadControl,
  ) {
    this.channels = header.signals.filter(s => s.isAnnotations && s.samplesPerRecord > 0);
    this.reached = leads.map(() => 0);
    this.unrecorded = leads.map(() => []);
    this.limit = leads.map(() => Number.POSITIVE_INFINITY);
    this.recordsPerBlock = Math.min(header.recordCount, Math.floor(blockBytes / header.recordBytes));
    this.out = leads.map(l => {
      const length = l.signal.samplesPerRecord * this.recordsPerBlock;
      return header.sampleBytes === 3 ? new Int32Array(length) : new Int16Array(length);
    });
    this.onsets = new Float64Array(Math.max(1, this.recordsPerBlock));
    this.fastestHz = Math.max(0, ...leads.map(l => l.samplingRateHz));
  }

  async readAll(): Promise<void> {
    const { recordCount, recordBytes, recordSeconds, headerBytes } = this.header;
    this.checkEnd('header', recordCount * recordSeconds);
    const step = Math.max(1, this.recordsPerBlock);
    for (let first = 0; first < recordCount; first += step) {
      this.control.signal?.throwIfAborted();
      const count = Math.min(step, recordCount - first);
      if (this.recordsPerBlock > 0) await this.readBlock(first, count);
      else await this.readLargeRecord(first);
      this.control.onProgress?.(headerBytes + (first + count) * recordBytes, this.source.size);
    }
  }

  warnings(): string[] {
    const out: string[] = [];
    if (this.unclean > 0) out.push(`${this.unclean} data records have damaged annotations, read as far as possible.`);
    if (this.missingOnsets > 0)
      out.push(`${this.missingOnsets} data records do not say when they start; taken as next in line.`);
    if (this.jumped > 0) {
      out.push(
        `The header calls the recording continuous, but ${this.jumped} data records start later than the one before ` +
          'ends: these are read as gaps.',
      );
    }
    if (this.overlaps > 0) {
      const ms = (this.worstOverlapSeconds * 1000).toFixed(1);
      out.push(
        `${this.overlaps} data records start before the one before ends, by ${ms} ms at worst; kept in file order.`,
      );
    }
    return out;
  }

  private at(record: number, byte = 0): number {
    return this.header.headerBytes + record * this.header.recordBytes + byte;
  }

  private async readBlock(first: number, count: number): Promise<void> {
    const { recordBytes } = this.header;
    const bytes = await this.source.read(this.at(first), this.at(first + count));
    if (bytes.length < count * recordBytes) this.fail(first, 'the file ends early.', 'Copy it again.');
    for (let r = 0; r < count; r++) {
      const base = r * recordBytes;
      const from = (s: EdfSignal) =>
        bytes.subarray(base + s.byteInRecord, base + s.byteInRecord + this.header.sampleBytes * s.samplesPerRecord);
      this.onsets[r] = this.takeAnnotations(first + r, this.channels.map(from));
    }
    const words = samplesOf(bytes, this.header.sampleBytes);
    for (let r = 0; r < count; ) {
      const run = this.contiguous(first, r, count);
      if (run === 0) {
        await this.openGap(first + r, this.onsets[r]!);
        continue;
      }
      await this.emit(words, r, run);
      r += run;
    }
  }

  /** How many records from `r` on follow without a gap; 0 when a gap comes first. */
  private contiguous(first: number, r: number, count: number): number {
    if (this.header.kind === 'EDF' || this.channels.length === 0) {
      this.runRecords += count - r;
      return count - r;
    }
    let n = 0;
    while (r + n < count) {
      const next = r + n + 1 < count ? this.onsets[r + n + 1]! : null;
      if (this.isGap(first + r + n, this.onsets[r + n]!, next)) break;
      n++;
      this.runRecords++;
    }
    return n;
  }

  /** Whether a record starts later than the one before it ends, by more than half a sample. */
  private isGap(record: number, onset: number, next: number | null = null): boolean {
    if (this.header.kind === 'EDF+C') return this.jumps(record, onset, next);
    const late = onset - (this.runOnset + this.runRecords * this.header.recordSeconds);
    const half = 0.5 / (this.leads[this.reference]?.samplingRateHz ?? 1000);
    if (late < -half) this.overlap(record, -late);
    return late > half;
  }

  /**
   * Whether a record of a file that calls itself continuous starts late all the same, and the next one follows it. Onsets
   * may be rounded there, and the record duration too, so only a jump from one record to the next counts.
   */
  private jumps(record: number, onset: number, next: number | null): boolean {
    const { recordSeconds } = this.header;
    const sample = 1 / (this.leads[this.reference]?.samplingRateHz ?? 1000);
    const slack = Math.max(1.5 * sample, 0.01 * recordSeconds, 0.0015);
    const jumped = record > 0 && onset - this.previousOnset - recordSeconds > slack;
    if (jumped && (next === null || Math.abs(next - onset - recordSeconds) <= slack)) return true;
    this.previousOnset = onset;
    return false;
  }

  private overlap(record: number, seconds: number): void {
    if (seconds > this.header.recordSeconds / 2) {
      this.fail(
        record,
        `it starts ${seconds.toFixed(3)} s before the one before it ends.`,
        'Correct the record times.',
      );
    }
    this.overlaps++;
    this.worstOverlapSeconds = Math.max(this.worstOverlapSeconds, seconds);
  }

  private checkEnd(place: string, seconds: number): void {
    checkTimeline(this.source.name, this.header.kind, place, seconds, this.fastestHz);
  }

  private async openGap(record: number, onset: number): Promise<void> {
    const since = onset - this.firstOnset;
    this.checkEnd(`data record ${record + 1}`, since + this.header.recordSeconds);
    for (const [i, lead] of this.leads.entries()) {
      const from = this.reached[i]!;
      const to = nearestSample(since, lead.samplingRateHz);
      if (to <= from) continue;
      if (i === this.reference) addStretch(this.gaps, from, to);
      addStretch(this.unrecorded[i]!, from, to);
      this.reached[i] = to;
      await this.sink.skip(i, to - from);
    }
    this.runOnset = onset;
    this.runRecords = 0;
    if (this.header.kind === 'EDF+C') this.jumped++;
    this.previousOnset = onset - this.header.recordSeconds;
  }

  private async emit(words: EdfSamples, firstRecord: number, count: number): Promise<void> {
    const { sampleBytes } = this.header;
    const wordsPerRecord = this.header.recordBytes / sampleBytes;
    for (const [i, lead] of this.leads.entries()) {
      const n = lead.signal.samplesPerRecord;
      const out = this.out[i]!;
      gather(
        words,
        firstRecord * wordsPerRecord + lead.signal.byteInRecord / sampleBytes,
        wordsPerRecord,
        n,
        count,
        out,
      );
      await this.put(i, out.subarray(0, n * count));
    }
  }

  private async put(lead: number, words: EdfSamples): Promise<void> {
    const room = this.limit[lead]! - this.reached[lead]!;
    const part = words.length > room ? words.subarray(0, Math.max(0, room)) : words;
    this.reached[lead] = this.reached[lead]! + part.length;
    if (part.length > 0) await this.sink.write(lead, part);
  }

  /** A data record larger than a block: annotations first, then each signal in pieces. */
  private async readLargeRecord(record: number): Promise<void> {
    const { sampleBytes } = this.header;
    const pieceBytes = Math.floor(blockBytes / 6) * 6;
    const channels: Uint8Array[] = [];
    for (const s of this.channels) {
      const start = this.at(record, s.byteInRecord);
      if (sampleBytes * s.samplesPerRecord > largestChannelBytes) {
        this.fail(
          record,
          `its annotation channel has ${sampleBytes * s.samplesPerRecord} bytes.`,
          'Split the data record.',
        );
      }
      channels.push(await this.source.read(start, start + sampleBytes * s.samplesPerRecord));
    }
    const onset = this.takeAnnotations(record, channels);
    if (this.header.kind !== 'EDF' && this.channels.length > 0 && this.isGap(record, onset))
      await this.openGap(record, onset);
    this.runRecords++;
    for (const [i, lead] of this.leads.entries()) {
      const end = this.at(record, lead.signal.byteInRecord + sampleBytes * lead.signal.samplesPerRecord);
      for (let at = this.at(record, lead.signal.byteInRecord); at < end; at += pieceBytes) {
        this.control.signal?.throwIfAborted();
        const bytes = await this.source.read(at, Math.min(end, at + pieceBytes));
        await this.put(i, samplesOf(bytes, sampleBytes));
      }
    }
  }

  /** Collects the record's annotations and returns its onset in seconds after the header's start. */
  private takeAnnotations(record: number, channels: readonly Uint8Array[]): number {
    const { recordSeconds, recordCount, kind } = this.header;
    const before = this.annotations.length;
    let onset: number | null = null;
    for (const [i, bytes] of channels.entries()) {
      const result = parseTals(bytes, this.annotations);
      if (i === 0) onset = result.recordOnset;
      if (!result.clean) this.unclean++;
    }
    if (record === 0 && onset !== null && kind !== 'EDF') this.firstOnset = this.runOnset = onset;
    if (onset === null && kind === 'EDF+D') this.missingOnsets++;
    if (record === recordCount - 1) this.takeEnd(before, onset ?? this.firstOnset + record * recordSeconds);
    this.lastOnset = onset ?? (record === 0 ? 0 : this.lastOnset + recordSeconds);
    return this.lastOnset;
  }

  /** An end noted inside the last record says that the rest of that record is padding. */
  private takeEnd(from: number, recordOnset: number): void {
    const end = this.annotations.slice(from).find(a => a.text === edfTexts.end)?.onsetSeconds;
    if (end === undefined || end <= recordOnset || end > recordOnset + this.header.recordSeconds) return;
    for (const [i, l] of this.leads.entries()) this.limit[i] = nearestSample(end - this.firstOnset, l.samplingRateHz);
  }

  private fail(record: number, problem: string, remedy: string): never {
    const place = `data record ${record + 1}, byte ${this.at(record)}`;
    throw new FormatError(this.source.name, this.header.kind, place, problem, remedy);
  }
}

type EdfSamples = Int16Array | Int32Array;

/** Samples are little-endian, as every machine with a browser is; 16 bits from an odd start need a copy. */
function samplesOf(bytes: Uint8Array, sampleBytes: 2 | 3): EdfSamples {
  if (sampleBytes === 2) {
    const even = bytes.byteOffset % 2 === 0 ? bytes : bytes.slice();
    return new Int16Array(even.buffer, even.byteOffset, even.length >> 1);
  }
  const out = new Int32Array(Math.floor(bytes.length / 3));
  for (let i = 0, at = 0; i < out.length; i++, at += 3) {
    out[i] = ((bytes[at + 2]! << 24) | (bytes[at + 1]! << 16) | (bytes[at]! << 8)) >> 8;
  }
  return out;
}

/** Copies `count` runs of `length` words, `stride` apart, next to each other. */
function gather(words: EdfSamples, from: number, stride: number, length: number, count: number, out: EdfSamples): void {
  if (length >= 64) {
    for (let r = 0; r < count; r++) out.set(words.subarray(from + r * stride, from + r * stride + length), r * length);
    return;
  }
  for (let r = 0, o = 0; r < count; r++) {
    const base = from + r * stride;
    for (let k = 0; k < length; k++) out[o++] = words[base + k]!;
  }
}
