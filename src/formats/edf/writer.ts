import { zeroWord } from '../../core/recording/pieces';
import { wallMs } from '../opened';
import { annotationSignalLabel, edfPlusDate, signalFields } from './header';
import type { EdfContent, RecordPlan } from './layout';
import { allAnnotations, decimalText, leadStart, planRecords } from './layout';
import type { EdfScale } from './scale';
import { scaleFor, store } from './scale';
import { packTals } from './tals';

export interface EdfFile {
  readonly kind: 'EDF+C' | 'EDF+D';
  readonly byteLength: number;
  /** Losses worth telling, e.g. coarser steps. */
  readonly warnings: readonly string[];
  /** The bytes, in pieces of at most a few MB. */
  blocks(): AsyncGenerator<Uint8Array>;
}

/**
 * Prepares an EDF+ file: continuous, or discontinuous when the recording has gaps longer than a record's rest. The same
 * content gives the same bytes. Source of every field: Kemp & Olivan 2003.
 */
export async function edfFile(content: EdfContent): Promise<EdfFile> {
  const plan = planRecords(content.recording);
  const scales = await Promise.all(content.recording.leads.map((l, i) => scaleFor(l, content.leads[i]!)));
  const subSecond = startFraction(content.recording.startedAt);

  const onsets = Array.from(plan.starts, s => (s / plan.clockHz || 0) + subSecond);
  const shifted = allAnnotations(content, plan).map(a => ({ ...a, onsetSeconds: a.onsetSeconds + subSecond }));
  const channel = packTals(onsets, shifted);
  const kind = plan.discontinuous ? 'EDF+D' : 'EDF+C';
  const header = headerBytes(content, plan, scales, channel.bytesPerRecord, channel.recordCount, kind);
  const recordBytes = 2 * plan.samplesPerRecord.reduce((a, b) => a + b, 0) + channel.bytesPerRecord;
  return {
    kind,
    byteLength: header.length + recordBytes * channel.recordCount,
    warnings: [...plan.warnings, ...scales.flatMap(s => s.warnings)],
    async *blocks() {
      yield header;
      yield* dataBlocks(content, plan, scales, channel, recordBytes);
    },
  };
}

/** The whole file in memory, for small content. */
export async function edfBytes(content: EdfContent): Promise<Uint8Array> {
  const file = await edfFile(content);
  const out = new Uint8Array(file.byteLength);
  let at = 0;
  for await (const block of file.blocks()) {
    out.set(block, at);
    at += block.length;
  }
  return out;
}

/** A file of annotations only, as a companion of the recording. */
export function annotationsOnly(content: EdfContent): EdfContent {
  return { ...content, recording: { ...content.recording, leads: [], gaps: [] }, leads: [] };
}

const recordsPerBlock = (recordBytes: number) => Math.max(1, Math.floor((1 << 20) / recordBytes));

async function* dataBlocks(
  content: EdfContent,
  plan: RecordPlan,
  scales: readonly EdfScale[],
  channel: { bytesPerRecord: number; recordCount: number; record(index: number): Uint8Array },
  recordBytes: number,
): AsyncGenerator<Uint8Array> {
  const perBlock = recordsPerBlock(recordBytes);
  for (let first = 0; first < channel.recordCount; first += perBlock) {
    const count = Math.min(perBlock, channel.recordCount - first);
    const bytes = new Uint8Array(count * recordBytes);
    const words = new Int16Array(bytes.buffer);
    for (let r = 0; r < count; r++) {
      let at = (r * recordBytes) / 2;
      for (const [i, length] of plan.samplesPerRecord.entries()) {
        await fillLead(
          content,
          i,
          leadStart(plan.starts[first + r]! / plan.clockHz, plan.leadRatesHz[i]!),
          scales[i]!,
          words.subarray(at, at + length),
        );
        at += length;
      }
      bytes.set(channel.record(first + r), 2 * at);
    }
    yield bytes;
  }
}

/** One lead's words of one record; past the end the word nearest to 0 mV. */
async function fillLead(content: EdfContent, i: number, from: number, scale: EdfScale, out: Int16Array): Promise<void> {
  const lead = content.recording.leads[i]!;
  const samples = content.leads[i]!;

  const end = Math.min(from + out.length, samples.sampleCount);
  if (end < from + out.length) out.fill(scale.asIs ? zeroWord({ format: 'int16', offset: lead.offset }) : 0);
  if (end > from) store(await samples.read(from, end), scale, out, 0);
}

/** Fraction of the start second, which EDF+ keeps in the first record's onset. */
function startFraction(startedAt: string | null): number {
  const ms = startedAt === null ? null : wallMs(startedAt);
  return ms === null ? 0 : (((ms % 1000) + 1000) % 1000) / 1000;
}

function headerBytes(
  content: EdfContent,
  plan: RecordPlan,
  scales: readonly EdfScale[],
  channelBytes: number,
  recordCount: number,
  kind: string,
): Uint8Array {
  const ms = content.recording.startedAt === null ? null : wallMs(content.recording.startedAt);
  const signals = [
    ...content.recording.leads.map((l, i) => leadFields(l.name, scales[i]!, plan.samplesPerRecord[i]!)),
    annotationFields(channelBytes / 2),
  ];
  const date = ms === null ? 'X' : edfPlusDate(ms);
  const main = [
    field('0', 8),
    field(`${word(content.participant ?? 'X')} X X X`, 80),
    field(`Startdate ${date} X X ${word(content.recording.recorder)}`, 80),
    field(ms === null ? '01.01.85' : date8(ms), 8),
    field(ms === null ? '00.00.00' : new Date(ms).toISOString().slice(11, 19).replaceAll(':', '.'), 8),
    field(String(256 * (signals.length + 1)), 8),
    field(kind, 44),
    field(String(recordCount), 8),
    field(plan.recordSeconds, 8),
    field(String(signals.length), 4),
  ].join('');
  const rest = signalFields.map(([name, width]) => signals.map(s => field(s[name], width)).join('')).join('');
  return Uint8Array.from(main + rest, c => c.charCodeAt(0));
}

type SignalTexts = Record<(typeof signalFields)[number][0], string>;

function leadFields(name: string, scale: EdfScale, samplesPerRecord: number): SignalTexts {
  return {
    label: name,
    transducer: '',
    unit: scale.unit,
    physicalMin: scale.physicalMin,
    physicalMax: scale.physicalMax,
    digitalMin: String(scale.digitalMin),
    digitalMax: String(scale.digitalMax),
    prefilter: '',
    samplesPerRecord: decimalText(samplesPerRecord, 8),
    reserved: '',
  };
}

function annotationFields(samplesPerRecord: number): SignalTexts {
  const limits = { physicalMin: '-1', physicalMax: '1', digitalMin: '-32768', digitalMax: '32767' };
  const empty = { transducer: '', unit: '', prefilter: '', reserved: '' };
  return { label: annotationSignalLabel, ...limits, ...empty, samplesPerRecord: String(samplesPerRecord) };
}

/** ASCII, cut or padded with spaces to `width`; what is not printable ASCII becomes '_'. */
function field(text: string, width: number): string {
  return text
    .normalize('NFKD')
    .replace(/\p{M}/gu, '')
    .replace(/[^\x20-\x7e]/g, '_')
    .slice(0, width)
    .padEnd(width);
}

/** Subfields of EDF+ are separated by spaces, so a subfield has none. */
function word(text: string): string {
  return text.trim().replace(/\s+/g, '_') || 'X';
}

/** Two-digit year as EDF has it; from 2085 on the field says 'yy' (EDF+). */
function date8(ms: number): string {
  const [year, month, day] = new Date(ms).toISOString().slice(0, 10).split('-');
  const short = Number(year) >= 1985 && Number(year) <= 2084 ? year!.slice(2) : 'yy';
  return `${day}.${month}.${short}`;
}
