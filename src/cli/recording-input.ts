import { chooseEcgLead, judgedStretch, leadInWords } from '../core/detector/choose-lead';
import type { EditLog } from '../core/marks/log';
import type { Marks } from '../core/marks/markset';
import { ecgLeadOf } from '../core/recording/ecg-lead';
import { zeroWord } from '../core/recording/pieces';
import type { LeadSamples, Recording, Segment } from '../core/recording/recording';
import type { ReviewedSession } from '../core/review/session';
import { readBundle } from '../formats/bundle/reader';
import { memorySink } from '../formats/bytes/memory-sink';
import type { ByteSource } from '../formats/bytes/source';
import { readEdf } from '../formats/edf/reader';
import { readIshne } from '../formats/ishne/reader';
import { inflated, sniff } from '../formats/open';
import type { Opened } from '../formats/opened';
import { type RawEncoding, readRaw } from '../formats/raw/raw';
import { countsUnit, doubtsLeft, previewText, type TextAsked, type TextColumn, withGain } from '../formats/text/layout';
import { readTextSignal } from '../formats/text/signal';
import { numericTimes } from '../formats/text/time';
import { type Flag, type Given, numberFlag, textFlag, UsageError } from './command';
import { checksumOf, openFile } from './files';
import type { FindingsLog } from './findings';

/** One recording with its words in memory, wherever it came from. */
export interface LoadedRecording {
  readonly recording: Recording;
  readonly leads: readonly LeadSamples[];
  /** Detected marks the file carries. */
  readonly marks: Marks | null;
  readonly marksBy: string;
  readonly segments: readonly Segment[];
  /** SHA-256 of the file as it is, in hex. */
  readonly fileSha256: string;
  /** The session it belongs to, with the logs; null when the file is not a bundle. */
  readonly reviewed: ReviewedSession | null;
}

export const inputFlags: Readonly<Record<string, Flag>> = {
  raw: {
    value: 'ENCODING',
    about: 'the file is raw words: int16, int24, int32 or float32, with a b after for big-endian',
  },
  rate: {
    value: 'HZ',
    about: 'sampling rate of raw samples and of marks; of text, in place of that of its time stamps',
  },
  unit: { value: 'UNIT', about: 'uV, mV, V or counts: of text columns that do not say theirs; counts need --gain' },
  time: {
    value: 'UNIT',
    about: `what the time column of text counts, whatever its name says: ${numericTimes.join(', ')}`,
  },
  decimal: { value: 'MARK', about: 'decimal mark of text, . or ,' },
  beats: { value: 'LABELS', about: 'labels of EDF+ annotations that are beats, with commas' },
  gain: { value: 'UNITS', about: 'raw words (default 200), or counts of a text column, per mV' },
  offset: { value: 'WORD', about: 'raw word or count that means 0 mV (default 0)' },
  leads: { value: 'NAMES', about: 'names of interleaved raw leads, with commas (default one, "ECG")' },
  'header-bytes': { value: 'BYTES', about: 'bytes to skip before raw words (default 0)' },
  variables: {
    value: 'NAMES',
    about: 'of NumPy, MAT and Parquet files: these arrays, with commas (default those of the greatest length)',
  },
  recording: { value: 'ID', about: 'of a bundle: which recording (default the first)' },
};

/** Opens a file by its contents, .gz or not; raw words only with --raw, because they cannot be recognised. */
export async function loadRecording(path: string, given: Given, found: FindingsLog): Promise<LoadedRecording> {
  const source = await inflated(openFile(path), {}, textFlag(given, 'variables')?.split(','));
  const raw = textFlag(given, 'raw');
  const format = raw === undefined ? (await sniff(source)).format : 'raw';
  if (format === 'bundle') return loadFromBundle(path, given, found);
  if (format === 'raw' && raw === undefined)
    throw new UsageError(
      `${source.name} is in no known format. Of raw words, give --raw and --rate; else choose another file.`,
    );
  if (format === 'text-marks' || format === 'text-segments') {
    throw new UsageError(
      `${source.name} looks like a list of ${format === 'text-marks' ? 'marks' : 'segments'}, not a signal`,
    );
  }
  const sink = memorySink();
  const opened = await readAs(format, source, given, sink, found);
  found.add({ understood: opened.understood, doubts: opened.warnings, dropped: opened.dropped });
  const { recording, marks, marksBy, segments } = opened;
  const leads = recording.leads.map((lead, i) => sink.samples(i, zeroWord(lead)));
  found.addFile(path, formatOf(recording));
  return { recording, leads, marks, marksBy, segments, fileSha256: checksumOf(path), reviewed: null };
}

/** As its reader names it. */
export function formatOf({ source }: Recording): string {
  return /\(([^()]*)\)$/.exec(source)?.[1] ?? '';
}

async function readAs(
  format: 'edf' | 'ishne' | 'text-signal' | 'raw',
  source: ByteSource,
  given: Given,
  sink: ReturnType<typeof memorySink>,
  found: FindingsLog,
): Promise<Opened> {
  const beats = textFlag(given, 'beats')?.split(',');
  if (format === 'edf') return readEdf(source, beats ? { marksTexts: beats } : {}, sink);
  if (format === 'ishne') return readIshne(source, sink);
  const rate = numberFlag(given, 'rate', 0, true);
  if (format === 'raw') {
    if (textFlag(given, 'gain') === undefined) found.add({ doubts: ['No --gain: 200 units per mV are assumed.'] });
    return readRaw(source, rawLayout(given, rate), sink);
  }
  return readText(source, given, rate, sink, found);
}

/** A rate that is given stands, whatever the time stamps say; these then only show gaps. */
async function readText(
  source: ByteSource,
  given: Given,
  rate: number | undefined,
  sink: ReturnType<typeof memorySink>,
  found: FindingsLog,
): Promise<Opened> {
  const layout = await previewText(source, textAsked(given));
  const time = textFlag(given, 'time');
  if (time !== undefined && layout.timeFormat !== time)
    throw new UsageError(`${source.name} has no time column of numbers: --time says nothing of it`);
  const samplingRateHz = rate ?? layout.samplingRateHz;
  if (samplingRateHz === null) throw new UsageError(`${source.name} does not state its sampling rate: give --rate`);
  const columns = layout.columns.map(c => scaled(c, source.name, given));
  // What had to be given is given by now.
  found.add({ doubts: doubtsLeft({ ...layout, columns, samplingRateHz }) });
  return readTextSignal(source, { ...layout, columns, samplingRateHz, acceptIrregular: rate !== undefined }, sink);
}

/** Counts on the scale that was given; without one there is none to guess. */
function scaled(column: TextColumn, file: string, given: Given): TextColumn {
  if (column.role !== 'value' || column.unit !== countsUnit) return column;
  const gain = numberFlag(given, 'gain', 0, true);
  if (gain === undefined) throw new UsageError(`${file}: ${column.name} holds counts: give --gain and --offset`);
  return withGain(column, gain, numberFlag(given, 'offset', Number.NEGATIVE_INFINITY) ?? 0);
}

function textAsked(given: Given): TextAsked {
  const decimalMark = textFlag(given, 'decimal');
  const unit = textFlag(given, 'unit') ?? (textFlag(given, 'gain') === undefined ? undefined : countsUnit);
  if (decimalMark !== undefined && decimalMark !== '.' && decimalMark !== ',')
    throw new UsageError('--decimal is . or ,');
  if (unit !== undefined && unit !== 'uV' && unit !== 'mV' && unit !== 'V' && unit !== countsUnit)
    throw new UsageError('--unit is uV, mV, V or counts');
  const time = textFlag(given, 'time');
  const timeFormat = numericTimes.find(t => t === time);
  if (time !== undefined && !timeFormat) throw new UsageError(`--time is one of ${numericTimes.join(', ')}`);
  return { ...(decimalMark ? { decimalMark } : {}), ...(unit ? { unit } : {}), ...(timeFormat ? { timeFormat } : {}) };
}

function rawLayout(given: Given, rate: number | undefined) {
  const named = /^(int16|int24|int32|float32)(b?)$/.exec(textFlag(given, 'raw') ?? '');
  if (!named) throw new UsageError('--raw is int16, int24, int32 or float32, with a b after for big-endian');
  if (rate === undefined) throw new UsageError('--raw needs --rate');
  return {
    encoding: named[1] as RawEncoding,
    littleEndian: named[2] === '',
    samplingRateHz: rate,
    leads: (textFlag(given, 'leads') ?? 'ECG').split(','),
    unitsPerMv: numberFlag(given, 'gain', 0, true) ?? 200,
    offset: numberFlag(given, 'offset', Number.NEGATIVE_INFINITY) ?? 0,
    headerBytes: numberFlag(given, 'header-bytes', 0) ?? 0,
  };
}

async function loadFromBundle(path: string, given: Given, found: FindingsLog): Promise<LoadedRecording> {
  const bundle = await readBundle(await inflated(openFile(path)));
  found.addFile(path, 'session bundle');
  found.addBundle(bundle);
  const { recordings } = bundle.reviewed.session;
  const asked = textFlag(given, 'recording');
  const item = asked === undefined ? recordings[0] : recordings.find(r => r.recording.id === asked);
  if (!item) {
    const ids = recordings.map(r => r.recording.id).join(', ') || 'none';
    throw new UsageError(`no recording ${asked ?? ''} in the bundle; it has ${ids}`);
  }
  const sink = memorySink();
  await bundle.readRecording(item.recording.id, sink);
  const { recording, detected, detectedBy, segments } = item;
  const leads = recording.leads.map((lead, i) => sink.samples(i, zeroWord(lead)));
  return {
    recording,
    leads,
    marks: detected,
    marksBy: detectedBy,
    segments,
    fileSha256: checksumOf(path),
    reviewed: bundle.reviewed,
  };
}

/** The lead asked for by name or number (from 1); when none is, the one that looks most like an ECG. */
export async function chooseLead(
  loaded: LoadedRecording,
  asked: string | undefined,
  found: FindingsLog,
): Promise<number> {
  const { recording } = loaded;
  if (recording.leads.length === 0) throw new UsageError(`${recording.source} has no lead`);
  if (asked === undefined) return likelyLead(loaded, found);
  const named = recording.leads.findIndex(l => l.name === asked);
  const index = named >= 0 ? named : /^\d+$/.test(asked) ? Number(asked) - 1 : -1;
  if (!recording.leads[index]) {
    throw new UsageError(`no lead ${asked}; there are ${recording.leads.map(l => l.name || '(unnamed)').join(', ')}`);
  }
  return index;
}

async function likelyLead({ recording, leads }: LoadedRecording, found: FindingsLog): Promise<number> {
  if (leads.length === 1) return 0;
  if (recording.ecgLead !== undefined) return ecgLeadOf(recording);
  const stretches = recording.leads.map(async (lead, i) => {
    const [from, to] = judgedStretch(recording, lead);
    return { ...lead, words: await leads[i]!.read(from, to) };
  });
  const chosen = chooseEcgLead(await Promise.all(stretches));
  const text = leadInWords(chosen, recording.leads);
  found.add(chosen.sure ? { understood: [text] } : { doubts: [`${text} Say which with --lead.`] });
  return chosen.index;
}

/** The log of one rater of a bundle. */
export function chooseLog({ reviewed }: LoadedRecording, rater: string): EditLog {
  const log = reviewed?.logs.find(l => l.header.rater === rater);
  const raters = reviewed?.logs.map(l => l.header.rater).join(', ') || 'none';
  if (!log) throw new UsageError(`no log of rater ${rater}; there are ${raters}`);
  return log;
}
