import type { LeadSamples, Recording, SampleArray } from '../../core/recording/recording';
import { joinBytes } from '../zip/writer';
import { at, fixedEnd, ishneChecksum, leadNames, magic, mostLeads } from './header';

const wordsPerBlock = 1 << 18;

/**
 * A recording as an ISHNE file, piece by piece: leads of one rate, as int16 words. Nothing that identifies a person is written.
 * Throws a RangeError for what the format cannot hold: leads of several rates, more than 12, a rate or a resolution beyond
 * int16, words that are no int16 around 0 mV.
 */
async function* ishneBlocks(recording: Recording, leads: readonly LeadSamples[]): AsyncGenerator<Uint8Array> {
  check(recording);
  yield ishneHeader(recording);
  for (let from = 0; from < recording.sampleCount; from += wordsPerBlock) {
    const to = Math.min(recording.sampleCount, from + wordsPerBlock);
    yield interleaved(recording, await Promise.all(leads.map(l => l.read(from, to))));
  }
}

export async function ishneBytes(recording: Recording, leads: readonly LeadSamples[]): Promise<Uint8Array> {
  const parts: Uint8Array[] = [];
  for await (const block of ishneBlocks(recording, leads)) parts.push(block);
  return joinBytes(parts);
}

function check({ leads, samplingRateHz }: Recording): void {
  if (leads.length < 1 || leads.length > mostLeads)
    throw new RangeError(`ISHNE holds 1 to ${mostLeads} leads, not ${leads.length}`);
  if (leads.some(l => l.samplingRateHz !== samplingRateHz))
    throw new RangeError('ISHNE holds leads of one rate: choose one with --lead');
  if (!Number.isInteger(samplingRateHz) || samplingRateHz > 0x7fff)
    throw new RangeError(`ISHNE holds whole rates up to 32767 Hz, not ${samplingRateHz}`);
  for (const lead of leads) resolutionOf(lead);
}

/** Whole nV a unit. */
function resolutionOf({ name, mvPerUnit }: Recording['leads'][number]): number {
  const nv = Math.round(mvPerUnit * 1e6);
  if (nv < 1 || nv > 0x7fff || Math.abs(nv - mvPerUnit * 1e6) > 1e-6 * nv)
    throw new RangeError(`ISHNE holds whole nV a unit, not ${mvPerUnit * 1e6} as lead ${name} has`);
  return nv;
}

function ishneHeader(recording: Recording): Uint8Array {
  const out = new Uint8Array(fixedEnd);
  const view = new DataView(out.buffer);
  const { leads, startedAt, samplingRateHz, sampleCount, recorder } = recording;
  const ascii = (from: number, text: string, longest: number) => {
    for (const [i, char] of [...text].slice(0, longest - 1).entries())
      out[from + i] = char.charCodeAt(0) < 256 ? char.charCodeAt(0) : 63;
  };
  ascii(0, `${magic} `, magic.length + 1);
  view.setInt32(at.samples, sampleCount, true);
  view.setInt32(at.variableOffset, fixedEnd, true);
  view.setInt32(at.ecgOffset, fixedEnd, true);
  view.setInt16(at.fileVersion, 1, true);
  const [date = [], time = []] = (startedAt ?? '').split('T').map(part => part.split(/[-:.]/).map(Number));
  for (const [i, n] of [...date].reverse().entries()) if (startedAt) view.setInt16(at.recordDate + 2 * i, n, true);
  for (const [i, n] of time.slice(0, 3).entries()) if (startedAt) view.setInt16(at.startTime + 2 * i, n, true);
  view.setInt16(at.leadCount, leads.length, true);
  for (let i = 0; i < mostLeads; i++) {
    const lead = leads[i];
    const spec = lead ? Math.max(0, (leadNames as readonly string[]).indexOf(lead.name)) : -9;
    view.setInt16(at.leadSpecs + 2 * i, spec, true);
    view.setInt16(at.leadQualities + 2 * i, lead ? 0 : -9, true);
    view.setInt16(at.resolutions + 2 * i, lead ? resolutionOf(lead) : -9, true);
  }
  ascii(at.recorder, recorder, 40);
  view.setInt16(at.samplingRate, samplingRateHz, true);
  view.setUint16(at.checksum, ishneChecksum(out.subarray(at.variableBytes)), true);
  return out;
}

function interleaved({ leads }: Recording, blocks: readonly SampleArray[]): Uint8Array {
  const rows = blocks[0]!.length;
  const out = new Int16Array(rows * leads.length);
  for (const [i, words] of blocks.entries()) {
    const { name, offset } = leads[i]!;
    for (let r = 0; r < rows; r++) {
      const word = words[r]! - offset;
      if (!Number.isInteger(word) || word < -32768 || word > 32767)
        throw new RangeError(`lead ${name}: the word ${words[r]} does not fit int16 around 0 mV`);
      out[r * leads.length + i] = word;
    }
  }
  return new Uint8Array(out.buffer);
}
