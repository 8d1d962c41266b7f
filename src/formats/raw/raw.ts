import { amount } from '../../core/amount';
import type { Lead, Recording, SampleArray, SampleFormat } from '../../core/recording/recording';
import type { ByteSource, ReadControl, SampleSink } from '../bytes/source';
import { blockBytes } from '../bytes/source';
import { FormatError } from '../format-error';
import type { Naming, Opened } from '../opened';
import { idFrom } from '../opened';
import { checkTimeline, makeSamples } from '../timeline';

export type RawEncoding = 'int16' | 'int24' | 'int32' | 'float32';

/** Everything a raw file does not say about itself. */
export interface RawLayout {
  readonly encoding: RawEncoding;
  readonly littleEndian: boolean;
  readonly samplingRateHz: number;
  /** Leads in the order in which their words take turns. */
  readonly leads: readonly string[];
  /** Words per mV. */
  readonly unitsPerMv: number;
  /** Word that means 0 mV. */
  readonly offset: number;
  /** Bytes to skip at the start. */
  readonly headerBytes: number;
}

const sampleBytes = { int16: 2, int24: 3, int32: 4, float32: 4 } as const;
const stored: Record<RawEncoding, SampleFormat> = {
  int16: 'int16',
  int24: 'int32',
  int32: 'int32',
  float32: 'float32',
};

/** Streams interleaved words to a sink. A last row that is not whole is left out with a warning. */
export async function readRaw(
  source: ByteSource,
  layout: RawLayout,
  sink: SampleSink,
  control: ReadControl = {},
  naming: Naming = {},
): Promise<Opened> {
  checkLayout(source, layout);
  const rowBytes = sampleBytes[layout.encoding] * layout.leads.length;
  const rows = Math.floor((source.size - layout.headerBytes) / rowBytes);
  const rest = source.size - layout.headerBytes - rows * rowBytes;
  const rowsPerBlock = Math.max(1, Math.floor(blockBytes / rowBytes));
  const out = layout.leads.map(() => makeSamples(stored[layout.encoding], Math.min(rows, rowsPerBlock)));
  let notNumbers = 0;
  for (let row = 0; row < rows; row += rowsPerBlock) {
    control.signal?.throwIfAborted();
    const count = Math.min(rowsPerBlock, rows - row);
    const from = layout.headerBytes + row * rowBytes;
    const bytes = await source.read(from, from + count * rowBytes);
    if (bytes.length < count * rowBytes) fail(source, `byte ${from}`, 'the file ends early.', 'Copy it again.');
    for (const [i, words] of out.entries()) {
      notNumbers += decode(bytes, layout, i, count, words);
      await sink.write(i, words.subarray(0, count));
    }
    control.onProgress?.(from + count * rowBytes, source.size);
  }
  const warnings: string[] = [];
  if (rest > 0)
    warnings.push(`The last ${rest} bytes are no whole row of ${layout.leads.length} words and are left out.`);
  if (notNumbers > 0) warnings.push(`${notNumbers} words are no numbers and are read as 0 mV.`);
  const understood = [
    `${layout.encoding}, ${layout.littleEndian ? 'little' : 'big'}-endian, ${amount(layout.leads.length, 'lead')}, ${rows} samples each.`,
  ];
  const nothing = { marks: null, marksBy: '', segments: [], dropped: [], patient: null };
  return { ...nothing, recording: recordingOf(source, layout, rows, naming), understood, warnings };
}

function recordingOf(source: ByteSource, layout: RawLayout, rows: number, naming: Naming): Recording {
  const { samplingRateHz, offset } = layout;
  const format = stored[layout.encoding];
  const scale = { samplingRateHz, sampleCount: rows, format, mvPerUnit: 1 / layout.unitsPerMv, offset, fileUnit: '' };
  return {
    id: naming.id ?? idFrom(source.name),
    recorder: naming.recorder ?? 'recorder',
    samplingRateHz,
    sampleCount: rows,
    startedAt: null,
    leads: layout.leads.map((name): Lead => ({ name, ...scale })),
    gaps: [],
    source: `${source.name} (raw ${layout.encoding})`,
  };
}

function checkLayout(source: ByteSource, layout: RawLayout): void {
  const { samplingRateHz, unitsPerMv, offset, headerBytes, leads } = layout;
  const wrong = (problem: string, remedy: string) => fail(source, 'layout', problem, remedy);
  if (!(samplingRateHz > 0 && samplingRateHz <= 1e6)) wrong('the sampling rate is not known.', 'Give it in Hz.');
  if (!Number.isFinite(unitsPerMv) || unitsPerMv === 0) wrong('the gain is not known.', 'Give it in units per mV.');
  if (!Number.isFinite(offset)) wrong('the offset is no number.', 'Give the word that means 0 mV.');
  if (leads.length < 1 || leads.length > 1000) wrong(`there are ${leads.length} leads.`, 'Give 1 to 1000.');
  if (!Number.isInteger(headerBytes) || headerBytes < 0)
    wrong('the header length is no whole number.', 'Give it in bytes.');
  const rowBytes = sampleBytes[layout.encoding] * leads.length;
  if (headerBytes + rowBytes > source.size)
    wrong('no sample lies behind the header.', 'Check header length and leads.');
  const seconds = (source.size - headerBytes) / rowBytes / samplingRateHz;
  checkTimeline(source.name, 'raw', 'layout', seconds, samplingRateHz);
}

function fail(source: ByteSource, place: string, problem: string, remedy: string): never {
  throw new FormatError(source.name, 'raw', place, problem, remedy);
}

/** Takes one lead's words out of interleaved rows; returns how many were no numbers. */
function decode(bytes: Uint8Array, layout: RawLayout, lead: number, count: number, out: SampleArray): number {
  const size = sampleBytes[layout.encoding];
  const stride = size * layout.leads.length;
  const little = layout.littleEndian;
  if (layout.encoding === 'int24') {
    for (let r = 0, at = lead * size; r < count; r++, at += stride) {
      const [low, high] = little ? [bytes[at]!, bytes[at + 2]!] : [bytes[at + 2]!, bytes[at]!];
      out[r] = ((high << 24) | (bytes[at + 1]! << 16) | (low << 8)) >> 8;
    }
    return 0;
  }
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const at = lead * size;
  if (layout.encoding === 'int16') for (let r = 0; r < count; r++) out[r] = view.getInt16(at + r * stride, little);
  if (layout.encoding === 'int32') for (let r = 0; r < count; r++) out[r] = view.getInt32(at + r * stride, little);
  return layout.encoding === 'float32' ? decodeFloats(view, at, stride, little, count, layout.offset, out) : 0;
}

function decodeFloats(
  view: DataView,
  at: number,
  stride: number,
  little: boolean,
  count: number,
  offset: number,
  out: SampleArray,
): number {
  let notNumbers = 0;
  for (let r = 0; r < count; r++) {
    const value = view.getFloat32(at + r * stride, little);
    const real = Number.isFinite(value);
    out[r] = real ? value : offset;
    if (!real) notNumbers++;
  }
  return notNumbers;
}

/** Interleaved words of equally long leads, the reverse of `readRaw`. int24 words outside its range throw a RangeError. */
export function rawBytes(leads: readonly SampleArray[], encoding: RawEncoding, littleEndian: boolean): Uint8Array {
  const size = sampleBytes[encoding];
  const rows = leads[0]?.length ?? 0;
  const bytes = new Uint8Array(rows * leads.length * size);
  const view = new DataView(bytes.buffer);
  for (const [i, words] of leads.entries()) {
    for (let r = 0; r < rows; r++) putWord(view, (r * leads.length + i) * size, words[r]!, encoding, littleEndian);
  }
  return bytes;
}

function putWord(view: DataView, at: number, word: number, encoding: RawEncoding, little: boolean): void {
  if (encoding === 'int16') view.setInt16(at, word, little);
  else if (encoding === 'int32') view.setInt32(at, word, little);
  else if (encoding === 'float32') view.setFloat32(at, word, little);
  else {
    if (word < -(2 ** 23) || word >= 2 ** 23) throw new RangeError(`${word} does not fit in 24 bits`);
    view.setUint8(at + (little ? 0 : 2), word & 0xff);
    view.setUint8(at + 1, (word >> 8) & 0xff);
    view.setUint8(at + (little ? 2 : 0), (word >> 16) & 0xff);
  }
}
