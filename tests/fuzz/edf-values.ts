import type { SampleArray } from '../../src/core/recording/recording';
import { bytesSource, type SampleSink } from '../../src/formats/bytes/source';
import { readEdf } from '../../src/formats/edf/reader';
import { FormatError } from '../../src/formats/format-error';
import type { Verdict } from './dialects';
import { type EdfCase, edfCase } from './edf-cases';

/**
 * EDF and BDF files in random shapes, read by the reader and by a plain one below, which is slow and knows nothing of the
 * other. Source of the layout: Kemp et al. 1992, Kemp & Olivan 2003, and BioSemi's description of BDF.
 */

/** One signal as the plain reader has it: every sample with its time in s from the first. */
interface PlainSignal {
  readonly label: string;
  readonly rateHz: number;
  readonly seconds: readonly number[];
  readonly millivolts: readonly number[];
}

const mvPerUnit: Readonly<Record<string, number>> = { nV: 1e-6, uV: 1e-3, µV: 1e-3, mV: 1, V: 1e3 };

function plainRead(bytes: Uint8Array): PlainSignal[] {
  const ascii = (from: number, length: number) =>
    Buffer.from(bytes.subarray(from, from + length))
      .toString('latin1')
      .trim();
  const width = bytes[0] === 0xff ? 3 : 2;
  const count = Number(ascii(252, 4));
  const seconds = Number(ascii(244, 8));
  const field = (offset: number, length: number) =>
    Array.from({ length: count }, (_, i) => ascii(256 + offset * count + i * length, length));
  const labels = field(0, 16);
  // In UTF-8 the micro sign has two bytes.
  const units = field(96, 8).map(u => u.replace('Â', ''));
  const [low, high, bottom, top] = [104, 112, 120, 128].map(at => field(at, 8).map(Number)) as number[][];
  const perRecord = field(216, 8).map(Number);
  const starts = perRecord.map((_, i) => perRecord.slice(0, i).reduce((a, b) => a + b, 0) * width);
  const recordBytes = perRecord.reduce((a, b) => a + b, 0) * width;
  const channel = labels.findIndex(l => l.endsWith('Annotations'));
  const records = Math.floor((bytes.length - 256 * (count + 1)) / recordBytes);
  const at = (record: number, signal: number) => 256 * (count + 1) + record * recordBytes + starts[signal]!;
  const onset = (record: number) => {
    if (channel < 0) return record * seconds;
    const text = Buffer.from(bytes.subarray(at(record, channel))).toString('latin1');
    return Number(text.slice(0, text.indexOf('\x14')));
  };
  const first = onset(0);
  return labels.flatMap((label, s) => {
    if (s === channel) return [];
    const scale = (high![s]! - low![s]!) / (top![s]! - bottom![s]!);
    const signal = { label, rateHz: perRecord[s]! / seconds, seconds: [] as number[], millivolts: [] as number[] };
    for (let r = 0; r < records; r++) {
      for (let i = 0; i < perRecord[s]!; i++) {
        const word = littleEndian(bytes, at(r, s) + i * width, width);
        signal.seconds.push(onset(r) - first + i / signal.rateHz);
        signal.millivolts.push((low![s]! + (word - bottom![s]!) * scale) * mvPerUnit[units[s]!]!);
      }
    }
    return [signal];
  });
}

function littleEndian(bytes: Uint8Array, at: number, width: number): number {
  let value = 0;
  for (let b = 0; b < width; b++) value += bytes[at + b]! * 256 ** b;
  return value >= 256 ** width / 2 ? value - 256 ** width : value;
}

/** Words on the time line; NaN where the reader skips. */
class TimeLine implements SampleSink {
  leads: number[][] = [];

  write(lead: number, words: SampleArray): void {
    const own = this.lead(lead);
    for (const word of words) own.push(word);
  }

  skip(lead: number, count: number): void {
    const own = this.lead(lead);
    for (let i = 0; i < count; i++) own.push(Number.NaN);
  }

  restart(): void {
    this.leads = [];
  }

  lead(lead: number): number[] {
    this.leads[lead] ??= [];
    return this.leads[lead];
  }
}

/** What the reader makes of a file whose values are known, against the plain reader. */
export async function edfDifferential(random: () => number): Promise<{ verdict: Verdict; made: EdfCase; why: string }> {
  const made = edfCase(random);
  const sink = new TimeLine();
  try {
    const opened = await readEdf(bytesSource('case.edf', made.bytes), {}, sink);
    const why = firstDifference(plainRead(made.bytes), opened.recording, sink);
    if (why === null) return { verdict: 'the same', made, why: '' };
    return { verdict: opened.warnings.length > 0 ? 'asked' : 'silently different', made, why };
  } catch (error) {
    if (!(error instanceof FormatError)) throw error;
    return { verdict: 'refused', made, why: error.message };
  }
}

type Read = Awaited<ReturnType<typeof readEdf>>['recording'];

function firstDifference(plain: readonly PlainSignal[], recording: Read, sink: TimeLine): string | null {
  if (plain.length !== recording.leads.length) return `${recording.leads.length} leads, not ${plain.length}`;
  for (const [i, lead] of recording.leads.entries()) {
    const signal = plain[i]!;
    const words = sink.lead(i);
    if (lead.name !== signal.label) return `lead ${i} is called ${lead.name}, not ${signal.label}`;
    if (Math.abs(lead.samplingRateHz / signal.rateHz - 1) > 1e-9)
      return `${lead.samplingRateHz} Hz, not ${signal.rateHz}`;
    const taken = new Set<number>();
    for (const [k, mv] of signal.millivolts.entries()) {
      const index = Math.round(signal.seconds[k]! * signal.rateHz);
      const read = (words[index]! - lead.offset) * lead.mvPerUnit;
      taken.add(index);
      if (!(Math.abs(read - mv) <= 1e-9 * Math.max(1, Math.abs(mv), Math.abs(lead.offset * lead.mvPerUnit))))
        return `lead ${i}, sample ${index}: ${read} mV, not ${mv}`;
    }
    const outside = stray(words.length, taken, recording, lead.samplingRateHz);
    if (outside !== null) return `lead ${i} has a sample ${outside} that the file has not`;
  }
  return null;
}

/** A place on the time line that neither the file has nor a gap covers. */
function stray(
  length: number,
  taken: ReadonlySet<number>,
  { gaps, samplingRateHz }: Read,
  rateHz: number,
): number | null {
  for (let i = 0; i < length; i++) {
    if (taken.has(i)) continue;
    const at = (i / rateHz) * samplingRateHz;
    if (!gaps.some(g => at >= g.start - 1e-6 && at < g.end + 1e-6)) return i;
  }
  return null;
}
