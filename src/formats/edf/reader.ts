import { amount } from '../../core/amount';
import { normalise } from '../../core/marks/spans';
import type { Lead, Recording } from '../../core/recording/recording';
import type { SampleIndex, Span } from '../../core/units';
import type { ByteSource, ReadControl, SampleSink } from '../bytes/source';
import type { Naming, Opened } from '../opened';
import { idFrom, wallMs, wallTime } from '../opened';
import { longestTimeline } from '../timeline';
import type { AnnotationChoice, EdfAnnotation } from './annotations';
import { edfTexts, fromAnnotations, maxAnnotations } from './annotations';
import type { EdfHeader } from './header';
import { readEdfHeader } from './header';
import type { EdfLead } from './leads';
import { chooseLeads, referenceLead } from './leads';
import { equipment, identificationKinds } from './patient';
import { EdfRecords } from './records';

export interface EdfOptions extends Naming, AnnotationChoice {
  /** Keep the patient field in the result. By default nothing that identifies a person passes. */
  readonly keepPatient?: boolean;
  /** Indices of the signals to read, in the file's order; by default all voltages. */
  readonly signals?: readonly number[];
}

export interface OpenedEdf extends Opened {
  readonly header: EdfHeader;
  /** Every annotation, on the recording's time line. */
  readonly annotations: readonly EdfAnnotation[];
}

/** Reads EDF, EDF+C and EDF+D. The file is never held whole; a gap of EDF+D is listed, and no words are made for it. */
export async function readEdf(
  source: ByteSource,
  options: EdfOptions,
  sink: SampleSink,
  control: ReadControl = {},
): Promise<OpenedEdf> {
  const header = await readEdfHeader(source);
  const warnings = [...header.warnings];
  const leads = chooseLeads(source.name, header, options.signals, warnings);
  const records = new EdfRecords(source, header, leads, referenceLead(leads), sink, control);
  await records.readAll();
  warnings.push(...records.warnings());
  if (records.annotations.length >= maxAnnotations) warnings.push(`Only ${maxAnnotations} annotations are read.`);
  const annotations = onTimeline(records.annotations, records.firstOnset);
  const recording = recordingOf(source, header, leads, records, annotations, options);
  const found = fromAnnotations(annotations, recording, options);
  return {
    header,
    recording,
    marks: found.marks,
    marksBy: found.marks ? recording.recorder : '',
    segments: found.segments,
    annotations,
    understood: [...sayRecording(header, recording), ...found.understood],
    warnings: [...warnings, ...found.warnings],
    dropped: options.keepPatient ? [] : identificationKinds(header.patient, header.recordingText),
    patient: options.keepPatient && header.patient !== '' ? header.patient : null,
  };
}

/** Annotations only, for a file that belongs to another recording. Onsets count from the file's start time. */
export async function readEdfAnnotations(
  source: ByteSource,
  control: ReadControl = {},
): Promise<{ header: EdfHeader; annotations: EdfAnnotation[]; warnings: string[] }> {
  const header = await readEdfHeader(source);
  const records = new EdfRecords(source, header, [], 0, { write: () => {}, skip: () => {} }, control);
  await records.readAll();
  const sorted = onTimeline(records.annotations, 0);
  return { header, annotations: sorted, warnings: [...header.warnings, ...records.warnings()] };
}

/** Sorted by onset, shifted so that the first sample is at 0 s. Stable, so equal onsets keep the file's order. */
function onTimeline(annotations: readonly EdfAnnotation[], firstOnset: number): EdfAnnotation[] {
  const shifted =
    firstOnset === 0
      ? [...annotations]
      : annotations.map(a => ({ ...a, onsetSeconds: round9(a.onsetSeconds - firstOnset) }));
  return shifted.sort((a, b) => a.onsetSeconds - b.onsetSeconds);
}

function round9(seconds: number): number {
  return Math.round(seconds * 1e9) / 1e9;
}

function recordingOf(
  source: ByteSource,
  header: EdfHeader,
  leads: readonly EdfLead[],
  records: EdfRecords,
  annotations: readonly EdfAnnotation[],
  options: EdfOptions,
): Recording {
  const reference = referenceLead(leads);
  const samplingRateHz = leads[reference]!.samplingRateHz;
  const sampleCount = records.reached[reference]!;
  return {
    id: options.id ?? idFrom(source.name),
    recorder: options.recorder ?? equipment(header.recordingText) ?? 'recorder',
    samplingRateHz,
    sampleCount,
    startedAt: startedAt(header.startedAt, records.firstOnset),
    leads: leads.map((lead, i): Lead => leadOf(lead, header, records.reached[i]!, records.unrecorded[i]!)),
    gaps: allGaps(records.gaps, annotations, samplingRateHz, sampleCount),
    source: `${source.name} (${kindName(header)})`,
  };
}

/** BDF+C for a header of EDF+C with samples of 24 bits. */
function kindName({ kind, sampleBytes }: EdfHeader): string {
  return sampleBytes === 3 ? kind.replace('E', 'B') : kind;
}

function leadOf(lead: EdfLead, header: EdfHeader, sampleCount: number, missing: readonly Span[]): Lead {
  const format = header.sampleBytes === 3 ? 'int32' : 'int16';
  const { samplingRateHz, mvPerUnit, offset, signal } = lead;
  const unrecorded = missing.length > 0 ? { unrecorded: missing } : {};
  const scale = { format, mvPerUnit, offset, fileUnit: signal.unit } as const;
  return { name: signal.label, samplingRateHz, sampleCount, ...unrecorded, ...scale };
}

/** EDF+ keeps the fraction of the start second in the first record's onset. */
function startedAt(text: string | null, firstOnset: number): string | null {
  const ms = text === null ? null : wallMs(text);
  return ms === null || Math.abs(firstOnset) > longestTimeline(0) ? null : wallTime(ms + firstOnset * 1000);
}

function allGaps(
  gaps: readonly Span[],
  annotations: readonly EdfAnnotation[],
  samplingRateHz: number,
  sampleCount: number,
): Span[] {
  const index = (s: number) => Math.min(sampleCount, Math.max(0, Math.floor(s * samplingRateHz + 0.5))) as SampleIndex;
  const noted = annotations
    .filter(a => a.text === edfTexts.noSignal && a.durationSeconds !== null)
    .map(a => ({ start: index(a.onsetSeconds), end: index(a.onsetSeconds + a.durationSeconds!) }));
  return normalise([...gaps, ...noted]);
}

function sayRecording(header: EdfHeader, recording: Recording): string[] {
  const leads = recording.leads.map(l => `${l.name || 'unnamed'} ${l.samplingRateHz} Hz in ${l.fileUnit || 'no unit'}`);
  const lines = [
    `${kindName(header)}, ${header.recordCount} data records of ${header.recordSeconds} s.`,
    `${leads.length === 1 ? 'One lead' : `${leads.length} leads`}: ${leads.join(', ')}.`,
  ];
  if (recording.gaps.length > 0)
    lines.push(`${amount(recording.gaps.length, 'gap is', 'gaps are')} kept as no signal.`);
  return lines;
}
