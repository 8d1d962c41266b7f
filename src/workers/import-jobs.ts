import type { Lead } from '../core/recording/recording';
import type { ReviewedSession } from '../core/review/session';
import type { DamagedLog } from '../formats/bundle/logs';
import { readBundle } from '../formats/bundle/reader';
import { type ByteSource, fileSource, type ReadControl, type SeriesChoice } from '../formats/bytes/source';
import type { EdfAnnotation } from '../formats/edf/annotations';
import { type EdfHeader, readEdfHeader } from '../formats/edf/header';
import { chooseLeads } from '../formats/edf/leads';
import { equipment, identificationKinds } from '../formats/edf/patient';
import { type EdfOptions, type OpenedEdf, readEdf, readEdfAnnotations } from '../formats/edf/reader';
import { FormatError } from '../formats/format-error';
import { type IshneHeader, readIshneHeader } from '../formats/ishne/header';
import { readIshne } from '../formats/ishne/reader';
import { type FileFormat, inflated, type Sniffed, sniff } from '../formats/open';
import type { Naming, Opened } from '../formats/opened';
import { type RawLayout, readRaw } from '../formats/raw/raw';
import { previewText, type TextAsked, type TextLayout } from '../formats/text/layout';
import { type MarksClock, type MarksLayout, previewMarks, type ReadMarks, readMarks } from '../formats/text/marks';
import { previewSegments, type ReadSegments, readSegments, type SegmentsLayout } from '../formats/text/segments';
import { type OpenedText, readTextSignal } from '../formats/text/signal';
import type { LeadId } from '../storage/signals';
import { readAhead } from './read-ahead';
import { type ImportProgress, readIntoStore } from './read-into-store';
import type { JobControl } from './worker-client';

type Control = JobControl<ImportProgress>;

interface FileImport extends Pick<Naming, 'recorder'> {
  readonly file: File;
  /** Where the signals go; the recording gets this id. */
  readonly ids: Omit<LeadId, 'lead'>;
}

/** What a file is, and what is known of it before it is read. */
export interface PreparedFile {
  readonly sniffed: Sniffed;
  readonly variables: SeriesChoice | null;
  /** Of an EDF file, by its header: enough to show leads while they are still being read. Empty: only annotations. */
  readonly leads: readonly Lead[] | null;
  readonly startedAt: string | null;
  /** Kinds of patient identification in an EDF header. */
  readonly identified: readonly string[];
  /** The recorder an EDF header names. */
  readonly recorder: string | null;
  /** Of a text file, what was understood, to be confirmed or changed; null for other kinds of content. */
  readonly text: TextLayout | null;
  readonly marks: MarksLayout | null;
  readonly segments: SegmentsLayout | null;
}

/** A bundle without its signals. */
export interface BundleLook {
  readonly reviewed: ReviewedSession;
  readonly damaged: readonly DamagedLog[];
  readonly warnings: readonly string[];
  readonly writtenBy: string;
}

interface LookInput {
  readonly file: File;
  readonly asked?: TextAsked;
  /** What the person takes the file for, whatever it looks like. */
  readonly as?: FileFormat;
}

async function look({ file, asked, as }: LookInput, control: Control): Promise<PreparedFile> {
  const source = await inflated(fileSource(file), reading(control), asked?.variables);
  const sniffed = await sniffedAs(source, as);
  const format = as ?? sniffed.format;
  const nothing = { leads: null, startedAt: null, identified: [], recorder: null };
  return {
    sniffed,
    variables: source.made?.variables ?? null,
    ...(format === 'edf' ? lookAtHeader(source.name, await readEdfHeader(source)) : nothing),
    ...(format === 'ishne' ? lookAtIshne(await readIshneHeader(source)) : {}),
    text: format === 'text-signal' ? await previewText(source, asked) : null,
    marks: format === 'text-marks' ? await previewMarks(source, null, asked) : null,
    segments: format === 'text-segments' ? await previewSegments(source, asked) : null,
  };
}

/** What holds no signal by its looks may still be words of a recorder, where a person says so. */
async function sniffedAs(source: ByteSource, as: FileFormat | undefined): Promise<Sniffed> {
  try {
    return await sniff(source);
  } catch (error) {
    if (as !== 'raw' || !(error instanceof FormatError)) throw error;
    return { format: 'raw', confidence: 'guess', why: 'it was chosen' };
  }
}

function lookAtHeader(name: string, header: EdfHeader) {
  const signals = header.signals.some(s => !s.isAnnotations && s.samplesPerRecord > 0);
  return {
    leads: signals ? leadsOf(name, header) : [],
    startedAt: header.startedAt,
    identified: identificationKinds(header.patient, header.recordingText),
    recorder: equipment(header.recordingText),
  };
}

/** Null for leads: such a file is not shown while it is being read. */
function lookAtIshne({ startedAt, identified, recorder }: IshneHeader) {
  return { leads: null, startedAt, identified, recorder: recorder === '' ? null : recorder };
}

function leadsOf(name: string, header: EdfHeader): Lead[] {
  return chooseLeads(name, header, undefined, []).map(({ signal, samplingRateHz, mvPerUnit, offset }) => {
    const sampleCount = header.recordCount * signal.samplesPerRecord;
    return {
      name: signal.label,
      samplingRateHz,
      sampleCount,
      format: header.sampleBytes === 3 ? 'int32' : 'int16',
      mvPerUnit,
      offset,
      fileUnit: signal.unit,
    };
  });
}

async function edf(input: FileImport & { options: EdfOptions }, control: Control): Promise<OpenedEdf> {
  const { options, ids } = input;
  const source = await sourceOf(input, control);
  return readIntoStore(ids, control, (sink, c) => readEdf(source, { ...options, ...namingOf(input) }, sink, c));
}

async function text(input: FileImport & { layout: TextLayout }, control: Control): Promise<OpenedText> {
  const source = await sourceOf(input, control, input.layout.variables);
  return readIntoStore(input.ids, control, (sink, c) => readTextSignal(source, input.layout, sink, c, namingOf(input)));
}

async function ishne(input: FileImport, control: Control): Promise<Opened> {
  const source = await sourceOf(input, control);
  return readIntoStore(input.ids, control, (sink, c) => readIshne(source, sink, c, namingOf(input)));
}

async function raw(input: FileImport & { layout: RawLayout }, control: Control): Promise<Opened> {
  const source = await sourceOf(input, control);
  return readIntoStore(input.ids, control, (sink, c) => readRaw(source, input.layout, sink, c, namingOf(input)));
}

interface ListImport<L> {
  readonly file: File;
  readonly layout: L;
  readonly clock: MarksClock;
}

async function marks({ file, layout, clock }: ListImport<MarksLayout>, control: Control): Promise<ReadMarks> {
  return readMarks(await inflated(fileSource(file), reading(control), layout.variables), layout, clock);
}

async function segments({ file, layout, clock }: ListImport<SegmentsLayout>, control: Control): Promise<ReadSegments> {
  return readSegments(await inflated(fileSource(file), reading(control)), layout, clock);
}

/** Annotations of a file that belongs to another recording, in seconds from the file's own start. */
async function annotations(
  { file }: { file: File },
  control: Control,
): Promise<{ startedAt: string | null; annotations: EdfAnnotation[]; warnings: string[] }> {
  const source = await inflated(fileSource(file), reading(control));
  const { header, annotations, warnings } = await readEdfAnnotations(source, reading(control));
  return { startedAt: header.startedAt, annotations, warnings };
}

async function bundle({ file }: { file: File }, control: Control): Promise<BundleLook> {
  const { reviewed, damaged, warnings, writtenBy } = await readBundle(fileSource(file), reading(control));
  return { reviewed, damaged, warnings, writtenBy };
}

/** Stores the signals of a bundle's recordings under a session id. Progress starts again with each recording. */
async function bundleSignals({ file, session }: { file: File; session: string }, control: Control): Promise<void> {
  const opened = await readBundle(fileSource(file), reading(control));
  for (const { recording } of opened.reviewed.session.recordings) {
    await readIntoStore({ session, recording: recording.id }, control, (sink, c) =>
      opened.readRecording(recording.id, sink, c),
    );
  }
}

function reading(control: Control): ReadControl {
  return { signal: control.signal };
}

async function sourceOf({ file }: FileImport, control: Control, variables?: readonly string[]): Promise<ByteSource> {
  return readAhead(await inflated(fileSource(file), reading(control), variables));
}

function namingOf({ ids, recorder }: FileImport): Naming {
  return { id: ids.recording, ...(recorder === undefined ? {} : { recorder }) };
}

export const importJobs = { look, edf, ishne, text, raw, marks, segments, annotations, bundle, bundleSignals };
