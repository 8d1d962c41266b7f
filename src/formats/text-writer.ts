import type { LeadSamples, Recording } from '../core/recording/recording';

const rowsPerBlock = 1 << 15;
const encoder = new TextEncoder();

/**
 * A recording as text: `time_s` and one column per lead in mV. Samples in gaps are left out, so the gap shows as a jump
 * in time. Every lead must have the recording's rate: others throw a RangeError.
 */
export async function* textSignalBlocks(
  recording: Recording,
  leads: readonly LeadSamples[],
): AsyncGenerator<Uint8Array> {
  const odd = recording.leads.find(l => l.samplingRateHz !== recording.samplingRateHz);
  if (odd) throw new RangeError(`${odd.name} has ${odd.samplingRateHz} Hz; a table holds one rate`);
  yield encoder.encode(`time_s,${recording.leads.map(l => `${cellName(l.name)} (mV)`).join(',')}\n`);
  const places = recording.leads.map(l => decimalsFor(l.mvPerUnit));
  const timePlaces = Math.max(3, Math.ceil(Math.log10(recording.samplingRateHz)) + 3);
  let gap = 0;
  for (let from = 0; from < recording.sampleCount; from += rowsPerBlock) {
    const to = Math.min(recording.sampleCount, from + rowsPerBlock);
    const words = await Promise.all(leads.map(l => l.read(from, to)));
    let text = '';
    for (let i = from; i < to; i++) {
      while (gap < recording.gaps.length && recording.gaps[gap]!.end <= i) gap++;
      if (gap < recording.gaps.length && recording.gaps[gap]!.start <= i) continue;
      text += (i / recording.samplingRateHz).toFixed(timePlaces);
      for (const [k, l] of recording.leads.entries()) {
        text += `,${(((words[k]![i - from] ?? l.offset) - l.offset) * l.mvPerUnit).toFixed(places[k])}`;
      }
      text += '\n';
    }
    yield encoder.encode(text);
  }
}

/** As few decimals as say a step exactly, at most 7. */
function decimalsFor(mvPerUnit: number): number {
  for (let d = 0; d < 7; d++)
    if (Math.abs(mvPerUnit * 10 ** d - Math.round(mvPerUnit * 10 ** d)) < 1e-9 && mvPerUnit * 10 ** d > 0.5) return d;
  return 7;
}

function cellName(name: string): string {
  return name.replace(/[",;\t\r\n]/g, ' ').trim() || 'lead';
}
