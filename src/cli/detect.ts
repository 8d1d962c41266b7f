import { type Detection, detectBeats } from '../core/detector/detect';
import { span } from '../core/units';
import { marksColumnCsv } from '../formats/csv/marks';
import { type CliCommand, textFlag, UsageError } from './command';
import { FindingsLog, strictFlag } from './findings';
import { chooseLead, inputFlags, type LoadedRecording, loadRecording } from './recording-input';

export const detectCommand: CliCommand = {
  name: 'detect',
  summary: 'R peaks of one lead by the built-in detector',
  usage: [
    'detect FILE [--lead NAME] [--json]',
    'detect FILE --raw int16 --rate HZ [--gain UNITS] [--offset WORD] [--json]',
  ],
  flags: {
    lead: { value: 'NAME', about: 'name or number (from 1) of the lead (default the one most like an ECG)' },
    ...inputFlags,
    ...strictFlag,
    json: {
      about:
        '{"samplingRateHz","samples":[...],"unsure":[[start,end],...]} and what was understood, doubtful and left out, instead of a CSV column',
    },
  },
  examples: ['detect rest.edf --json', 'detect ecg.dat.gz --raw int16 --rate 360 --gain 200 --offset 1024 > d.csv'],
  details: 'FILE is EDF, EDF+, text, a session bundle or raw words, also .gz. Samples count at the rate of the lead.',
  async run(given, output) {
    if (given.files.length !== 1) throw new UsageError('detect takes one file');
    const found = new FindingsLog(output);
    const loaded = await loadRecording(given.files[0]!, given, found);
    const index = await chooseLead(loaded, textFlag(given, 'lead'), found);
    found.refuseIfStrict(given);
    const lead = loaded.recording.leads[index]!;
    const { samples, unsure } = await detectLead(loaded, index);
    if (given.flags['json']) {
      const spans = unsure.map(s => [s.start, s.end]);
      output.print(
        JSON.stringify({
          samplingRateHz: lead.samplingRateHz,
          lead: lead.name,
          samples: [...samples],
          unsure: spans,
          ...found.all,
        }),
      );
    } else {
      output.print(marksColumnCsv(samples).trimEnd());
      output.note(`${samples.length} beats in lead ${lead.name || index + 1} at ${lead.samplingRateHz} Hz`);
    }
    return 0;
  },
};

/** Marks at the rate of the lead. */
export async function detectLead({ recording, leads }: LoadedRecording, index: number): Promise<Detection> {
  const lead = recording.leads[index]!;
  if (lead.samplingRateHz < 50 || lead.samplingRateHz > 10_000) {
    throw new UsageError(`the detector works from 50 to 10000 Hz, not at ${lead.samplingRateHz} Hz`);
  }
  const scale = lead.samplingRateHz / recording.samplingRateHz;
  const gaps = recording.gaps.map(g => span(Math.floor(g.start * scale), Math.ceil(g.end * scale)));
  const words = await leads[index]!.read(0, lead.sampleCount);
  return detectBeats(words, lead.samplingRateHz, { gaps });
}
