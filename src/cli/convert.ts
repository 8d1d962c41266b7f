import { basename } from 'node:path';
import { csvMetadataName } from '../formats/csv/metadata';
import { type CliCommand, type Given, textFlag, UsageError } from './command';
import { convertMarks, looksLikeMarks } from './convert-marks';
import { signalBytes } from './convert-signal';
import { FindingsLog, strictFlag } from './findings';
import { manyFlags } from './many/flags';
import { type OutKind, outKind } from './out-kind';
import { metadataOf } from './provenance';
import { inputFlags, loadRecording } from './recording-input';
import { writeWhole } from './whole';

export const convertCommand: CliCommand = {
  name: 'convert',
  summary:
    'between EDF+, ISHNE, text, raw words, session bundles and lists of marks; from NumPy, MAT and Parquet files',
  usage: [
    'convert IN OUT [flags]',
    'convert IN OUT.csv --marks sample [--rater CODE]',
    'convert IN... --out DIR --to edf [--jobs N] [flags]',
  ],
  flags: {
    marks: { value: 'UNIT', about: 'write marks, not the signal, as sample, s or rr-ms' },
    rater: { value: 'CODE', about: "of a bundle: this rater's reviewed marks instead of the detected ones" },
    lead: { value: 'NAME', about: 'only this lead' },
    detected: {
      value: 'FILE',
      about: 'detected marks that go into a bundle or EDF+ (default those of IN, else the detector)',
    },
    segments: { value: 'FILE', about: 'segments that go into a bundle or EDF+' },
    participant: { value: 'CODE', about: 'code for a bundle or EDF+, never a name (default X)' },
    'raw-out': { value: 'ENCODING', about: 'encoding of a raw OUT: int16 (default), int24, int32 or float32' },
    force: { about: 'write over OUT when it is there' },
    ...inputFlags,
    ...strictFlag,
    to: { value: 'ENDING', about: 'with --out: the ending of what is written, edf, csv, zip or raw' },
    ...manyFlags,
    json: { about: 'on stdout, what was understood, doubtful and left out' },
  },
  examples: [
    'convert rest.edf rest.csv',
    'convert ecg.dat rest.edf --raw int16 --rate 360 --gain 200 --offset 1024',
    'convert rest.edf session.zip --participant V01 --segments s.csv',
    'convert session.zip reviewed.edf --recording chest-band --rater R1',
    'convert session.zip reviewed.csv --marks sample --rater R1',
    'convert rr.csv marks.csv --marks sample --rate 1000',
  ],
  details:
    'OUT is chosen by its ending: .edf, .ecg (ISHNE 1.0), .csv, .zip (session bundle), .raw .bin or .dat (interleaved little-endian words).\nBeside those that cannot say what they were made from (.csv, .ecg, .raw), OUT-metadata.json says it.\nIN is known by its contents. Raw samples keep their values: gain and offset are printed to stderr.',
  many: { ending: endingOfMany, writes: true },
  async run(given, output) {
    if (given.flags['to'] !== undefined)
      throw new UsageError('--to goes with --out DIR: else OUT says what is written');
    const [input, target, ...more] = given.files;
    if (input === undefined || target === undefined || more.length > 0)
      throw new UsageError('convert takes IN and OUT, or many with --out DIR');
    const kind = outKind(target);
    const found = new FindingsLog(output);
    const bytes = await converted(input, kind, given, found);
    found.refuseIfStrict(given);
    const beside =
      kind === 'edf' || kind === 'zip'
        ? []
        : [{ path: csvMetadataName(target), content: metadataOf(convertCommand, given, found, basename(target)) }];
    writeWhole([{ path: target, content: bytes }, ...beside], given.flags['force'] === true);
    output.note(`wrote ${basename(target)}, ${bytes.length} bytes`);
    if (given.flags['json'])
      output.print(JSON.stringify({ file: basename(target), bytes: bytes.length, ...found.all }, null, 2));
    return 0;
  },
};

/** Of many results; checked before the first file is read. */
function endingOfMany(given: Given): string {
  const ending = textFlag(given, 'to');
  if (ending === undefined) throw new UsageError('convert --out DIR needs --to: edf, csv, zip or raw');
  outKind(`.${ending}`);
  if (given.flags['json']) throw new UsageError('--json goes without --out, where there is no one stdout for it');
  return ending;
}

async function converted(input: string, kind: OutKind, given: Given, found: FindingsLog): Promise<Uint8Array> {
  if (textFlag(given, 'raw') === undefined && (await looksLikeMarks(input, given)))
    return convertMarks(input, kind, given, found, null);
  const loaded = await loadRecording(input, given, found);
  if (textFlag(given, 'marks') !== undefined) return convertMarks(input, kind, given, found, loaded);
  return signalBytes(loaded, kind, given, found);
}
