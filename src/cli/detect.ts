import { amount } from '../core/amount';
import { createDetector, type Detection } from '../core/detector/detect';
import { leadsInWords, leadsWith } from '../core/detector/lead-choice';
import { zeroWord } from '../core/recording/pieces';
import { pushLeads } from '../core/recording/push-leads';
import { span } from '../core/units';
import { marksColumnCsv } from '../formats/csv/marks';
import { type CliCommand, textFlag, UsageError } from './command';
import { FindingsLog, strictFlag } from './findings';
import { manyFlags } from './many/flags';
import { madeFrom, provenanceFlag, writeProvenance } from './provenance';
import { chooseLead, inputFlags, type LoadedRecording, loadRecording } from './recording-input';

export const detectCommand: CliCommand = {
  name: 'detect',
  summary: 'R peaks by the built-in detector',
  usage: [
    'detect FILE [--lead NAME] [--provenance FILE] [--json]',
    'detect FILE --raw int16 --rate HZ [--leads A,B] [--gain UNITS] [--offset WORD] [--json]',
    'detect FILE... --out DIR [--jobs N] [--json]',
  ],
  flags: {
    lead: {
      value: 'NAME',
      about: 'name or number (from 1) of one lead (default all of one rate together, the one most like an ECG first)',
    },
    ...inputFlags,
    ...strictFlag,
    ...provenanceFlag,
    ...manyFlags,
    json: {
      about:
        '{"samplingRateHz","lead","leads","samples":[...],"probability":[...],"unsure":[[start,end],...]} and what was understood, doubtful and left out, instead of a CSV column',
    },
  },
  examples: [
    'detect rest.edf --json',
    'detect ecg.dat.gz --raw int16 --rate 360 --gain 200 --offset 1024 > d.csv',
    'detect rest.edf --provenance d.csv-metadata.json > d.csv',
  ],
  details:
    'FILE is EDF, EDF+, text, a session bundle or raw words, also .gz. Samples count at the rate of the leads;\nprobability is that of a beat at each; unsure are stretches in which mistakes are likely.',
  many: { ending: given => (given.flags['json'] ? 'json' : 'csv') },
  async run(given, output) {
    if (given.files.length !== 1) throw new UsageError('detect takes one file, or many with --out DIR');
    const found = new FindingsLog(output);
    const loaded = await loadRecording(given.files[0]!, given, found);
    const asked = textFlag(given, 'lead');
    const index = await chooseLead(loaded, asked, found);
    found.refuseIfStrict(given);
    const numbers = asked === undefined ? leadsWith(index, loaded.recording.leads) : [index];
    const leads = numbers.map(i => loaded.recording.leads[i]!);
    const { samplingRateHz, name } = leads[0]!;
    const { samples, probability, unsure } = await detectLeads(loaded, numbers);
    writeProvenance(detectCommand, given, found);
    if (given.flags['json']) {
      output.print(
        JSON.stringify({
          samplingRateHz,
          lead: name,
          leads: leads.map(l => l.name),
          samples: [...samples],
          probability: Array.from(probability, p => Math.round(1000 * p) / 1000),
          unsure: unsure.map(s => [s.start, s.end]),
          ...found.all,
          provenance: madeFrom(detectCommand, given, found),
        }),
      );
    } else {
      output.print(marksColumnCsv(samples).trimEnd());
      output.note(`${amount(samples.length, 'beat')} in ${leadsInWords(leads)} at ${samplingRateHz} Hz`);
    }
    return 0;
  },
};

/** Marks at the rate of the leads, which is the same for all. */
export async function detectLeads(
  loaded: Pick<LoadedRecording, 'recording' | 'leads'>,
  numbers: readonly number[],
): Promise<Detection> {
  const { recording } = loaded;
  const { samplingRateHz } = recording.leads[numbers[0]!]!;
  if (samplingRateHz < 50 || samplingRateHz > 10_000) {
    throw new UsageError(`the detector works from 50 to 10000 Hz, not at ${samplingRateHz} Hz`);
  }
  const scale = samplingRateHz / recording.samplingRateHz;
  const gaps = recording.gaps.map(g => span(Math.floor(g.start * scale), Math.ceil(g.end * scale)));
  const zeroWords = numbers.map(i => zeroWord(recording.leads[i]!));
  const detector = createDetector(samplingRateHz, { gaps, zeroWords, leads: numbers.length });
  const samples = numbers.map(i => loaded.leads[i]!);
  await pushLeads(recording.leads[numbers[0]!]!, samples, detector);
  return detector.finish();
}
