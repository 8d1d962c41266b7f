import { firstEndingAfter, intersect } from '../../core/marks/spans';
import { piecesOf, type Stretch, stretches } from '../../core/recording/pieces';
import type { Lead, LeadSamples, Recording } from '../../core/recording/recording';

const rowsPerBlock = 1 << 16;

/**
 * The signal as text: a comment with the rate, then `time_s` and one column in mV for each lead. Rows in gaps are left
 * out, so that the time stamps show them. All leads need the recording's rate, else a RangeError. Values have as many
 * decimals as the stored words need, nine at most.
 */
export async function* signalCsvBlocks(recording: Recording, leads: readonly LeadSamples[]): AsyncGenerator<string> {
  const { samplingRateHz, gaps } = recording;
  const other = recording.leads.find(l => l.samplingRateHz !== samplingRateHz);
  if (other) throw new RangeError(`lead ${other.name} has ${other.samplingRateHz} Hz, not ${samplingRateHz} Hz`);
  const names = recording.leads.map(l => `${l.name.replace(/[",\r\n]/g, ' ')} (mV)`);
  yield `# sampling rate: ${samplingRateHz} Hz\n${['time_s', ...names].join(',')}\n`;
  const digits = recording.leads.map(decimalsOf);
  for (const { start: from, end } of recordedBlocks(recording)) {
    const words = await Promise.all(leads.map(l => l.read(from, end)));
    const lines: string[] = [];
    let gap = firstEndingAfter(gaps, from);
    for (let s = from; s < end; s++) {
      while (gap < gaps.length && gaps[gap]!.end <= s) gap++;
      if (gap < gaps.length && gaps[gap]!.start <= s) continue;
      const cells = recording.leads.map((lead, i) => {
        return ((words[i]![s - from]! - lead.offset) * lead.mvPerUnit).toFixed(digits[i]!);
      });
      lines.push(`${(s / samplingRateHz).toFixed(6)},${cells.join(',')}\n`);
    }
    yield lines.join('');
  }
}

/** Blocks of the stretches of which any lead has words. */
function* recordedBlocks({ leads, sampleCount }: Recording): Generator<Stretch> {
  const missing = leads.map(l => l.unrecorded ?? []);
  const unrecorded = missing.length === 0 ? [] : missing.reduce((a, b) => intersect(a, b));
  for (const s of stretches(piecesOf({ sampleCount, unrecorded }), 0, sampleCount, rowsPerBlock))
    if (s.recorded) yield s;
}

/** The fewest decimals that hold every word exactly; nine when none of up to nine does. */
function decimalsOf(lead: Lead): number {
  if (lead.format === 'float32') return 9;
  for (let d = 0; d < 9; d++) {
    const scaled = [lead.mvPerUnit * 10 ** d, lead.mvPerUnit * lead.offset * 10 ** d];
    if (scaled.every(v => Math.abs(v - Math.round(v)) < 1e-9 * Math.max(1, Math.abs(v)))) return d;
  }
  return 9;
}
