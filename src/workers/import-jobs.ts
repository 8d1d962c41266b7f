import type { Lead } from '../core/recording/recording';
import type { ReviewedSession } from '../core/review/session';
import type { DamagedLog } from '../formats/bundle-logs';
import { readBundle } from '../formats/bundle-reader';
import { readEdfHeader } from '../formats/edf-header';
import { chooseLeads } from '../formats/edf-leads';
import { type EdfOptions, type OpenedEdf, readEdf } from '../formats/edf-reader';
import { inflated, type Sniffed, sniff } from '../formats/open';
import type { Naming, Opened } from '../formats/opened';
import { type RawLayout, readRaw } from '../formats/raw';
import { type ByteSource, fileSource, type ReadControl } from '../formats/source';
import { previewText, type TextAsked, type TextLayout } from '../formats/text-layout';
import { type OpenedText, readTextSignal } from '../formats/text-signal';
import type { LeadId } from '../storage/signals';
import type { JobControl } from './door';
import { readAhead } from './read-ahead';
import { type ImportProgress, readIntoStore } from './read-into-store';

type Control = JobControl<ImportProgress>;

interface FileImport extends Pick<Naming, 'recorder'> {
  readonly file: File;
  /** Where the signals go; the recording gets this id. */
  readonly ids: Omit<LeadId, 'lead'>;
}

/** What a file is, and what is known of it before it is read. */
export interface Looked {
  readonly sniffed: Sniffed;
  /** Of an EDF file, by its header: enough to show leads while they are still being read. */
  readonly leads: readonly Lead[] | null;
  /** Of a text signal: what was understood, to be confirmed or changed. */
  readonly text: TextLayout | null;
}

/** A bundle without its signals. */
export interface BundleLook {
  readonly reviewed: ReviewedSession;
  readonly damaged: readonly DamagedLog[];
  readonly warnings: readonly string[];
  readonly writtenBy: string;
}

async function look({ file, asked }: { file: File; asked?: TextAsked }, control: Control): Promise<Looked> {
  const source = await inflated(fileSource(file), reading(control));
  const sniffed = await sniff(source);
  return {
    sniffed,
    leads: sniffed.format === 'edf' ? await leadsOf(source) : null,
    text: sniffed.format === 'text-signal' ? await previewText(source, asked) : null,
  };
}

async function leadsOf(source: ByteSource): Promise<Lead[]> {
  const header = await readEdfHeader(source);
  return chooseLeads(source.name, header, undefined, []).map(({ signal, samplingRateHz, mvPerUnit, offset }) => {
    const sampleCount = header.recordCount * signal.samplesPerRecord;
    return {
      name: signal.label,
      samplingRateHz,
      sampleCount,
      format: 'int16',
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
  const source = await sourceOf(input, control);
  return readIntoStore(input.ids, control, (sink, c) => readTextSignal(source, input.layout, sink, c, namingOf(input)));
}

async function raw(input: FileImport & { layout: RawLayout }, control: Control): Promise<Opened> {
  const source = await sourceOf(input, control);
  return readIntoStore(input.ids, control, (sink, c) => readRaw(source, input.layout, sink, c, namingOf(input)));
}

async function bundle({ file }: { file: File }, control: Control): Promise<BundleLook> {
  const { reviewed, damaged, warnings, writtenBy } = await readBundle(fileSource(file), reading(control));
  return { reviewed, damaged, warnings, writtenBy };
}

/** Stores the signals of a bundle's recordings under a session id. Progress starts anew with each recording. */
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

async function sourceOf({ file }: FileImport, control: Control): Promise<ByteSource> {
  return readAhead(await inflated(fileSource(file), reading(control)));
}

function namingOf({ ids, recorder }: FileImport): Naming {
  return { id: ids.recording, ...(recorder === undefined ? {} : { recorder }) };
}

export const importJobs = { look, edf, text, raw, bundle, bundleSignals };
