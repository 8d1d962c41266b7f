import { detectorName } from '../core/detector/name';
import { startReview } from '../core/marks/edit';
import { replay } from '../core/marks/log';
import { type Marks, marksFrom } from '../core/marks/markset';
import { defaultMatchSettings } from '../core/marks/match';
import type { LeadSamples, Recording, Segment } from '../core/recording/recording';
import { distinctSegments } from '../core/recording/segment-names';
import { detectedOf, type ReviewedSession, type SessionRecording } from '../core/review/session';
import { bundleBlocks } from '../formats/bundle/writer';
import { signalCsvBlocks } from '../formats/csv/signal';
import { reviewedEdf } from '../formats/edf/reviewed';
import { edfFile } from '../formats/edf/writer';
import { inflated } from '../formats/open';
import { type RawEncoding, rawBytes } from '../formats/raw/raw';
import { previewSegments, readSegments } from '../formats/text/segments';
import { joinBytes } from '../formats/zip/writer';
import { type Given, type Output, textFlag, UsageError } from './command';
import { listedMarks } from './convert-marks';
import { detectLead } from './detect';
import { openFile } from './files';
import type { OutKind } from './out-kind';
import { chooseLead, chooseLog, type LoadedRecording } from './recording-input';

/** The recording as bytes of another format. */
export async function signalBytes(
  input: LoadedRecording,
  kind: OutKind,
  given: Given,
  output: Output,
): Promise<Uint8Array> {
  const loaded = onlyLead(input, textFlag(given, 'lead'));
  if (kind === 'csv') return csvBytes(loaded);
  if (kind === 'raw') return rawOut(loaded, given, output);
  if (kind === 'edf') return edfOut(loaded, given, output);
  return bundleOut(loaded, given, output);
}

function onlyLead(loaded: LoadedRecording, asked: string | undefined): LoadedRecording {
  if (asked === undefined) return loaded;
  const index = chooseLead(loaded, asked);
  const lead = loaded.recording.leads[index]!;
  if (lead.samplingRateHz !== loaded.recording.samplingRateHz) {
    throw new UsageError(`lead ${lead.name} has another rate than the marks and segments: it cannot stand alone`);
  }
  const recording: Recording = { ...loaded.recording, leads: [lead] };
  return { ...loaded, recording, leads: [loaded.leads[index]!] };
}

async function csvBytes({ recording, leads }: LoadedRecording): Promise<Uint8Array> {
  sameRate(recording);
  const parts: Uint8Array[] = [];
  for await (const block of signalCsvBlocks(recording, leads)) parts.push(new TextEncoder().encode(block));
  return joinBytes(parts);
}

async function rawOut({ recording, leads }: LoadedRecording, given: Given, output: Output): Promise<Uint8Array> {
  sameRate(recording);
  const encoding = textFlag(given, 'raw-out') ?? recording.leads[0]?.format ?? 'int16';
  if (!/^(int16|int24|int32|float32)$/.test(encoding))
    throw new UsageError(`--raw-out is int16, int24, int32 or float32`);
  const words = await Promise.all(leads.map((l: LeadSamples) => l.read(0, l.sampleCount)));
  const limit = { int16: 2 ** 15, int24: 2 ** 23, int32: 2 ** 31, float32: Number.POSITIVE_INFINITY }[
    encoding as RawEncoding
  ];
  const fits = (v: number) => v >= -limit && v < limit && (encoding === 'float32' || Number.isInteger(v));
  if (!words.every(w => w.every(fits)))
    throw new UsageError(`the words do not fit ${encoding}: choose another --raw-out`);
  for (const lead of recording.leads) {
    output.note(
      `lead ${lead.name}: ${lead.samplingRateHz} Hz, ${1 / lead.mvPerUnit} words per mV, offset ${lead.offset}`,
    );
  }
  if (recording.gaps.length > 0) output.note(`${recording.gaps.length} gaps are filler in the words`);
  return rawBytes(words, encoding as RawEncoding, true);
}

function sameRate(recording: Recording): void {
  const other = recording.leads.find(l => l.samplingRateHz !== recording.samplingRateHz);
  if (other) throw new UsageError(`leads have different rates: choose one with --lead`);
}

async function edfOut(loaded: LoadedRecording, given: Given, output: Output): Promise<Uint8Array> {
  const rater = textFlag(given, 'rater');
  const hasMarks = loaded.marks !== null || textFlag(given, 'detected') !== undefined;
  const item = await sessionItem(loaded, given, output, hasMarks);
  const review =
    rater === undefined
      ? startReview(item.detected)
      : replay(chooseLog(loaded, rater), detectedOf(loaded.reviewed!.session)).recordings.get(item.recording.id)!;
  const participant = textFlag(given, 'participant') ?? loaded.reviewed?.session.participant ?? 'X';
  const file = await edfFile(reviewedEdf(item, review, loaded.leads, participant));
  for (const warning of file.warnings) output.note(warning);
  const parts: Uint8Array[] = [];
  for await (const block of file.blocks()) parts.push(block);
  return joinBytes(parts);
}

async function bundleOut(loaded: LoadedRecording, given: Given, output: Output): Promise<Uint8Array> {
  if (loaded.reviewed) throw new UsageError('IN is a bundle already');
  const item = await sessionItem(loaded, given, output, true);
  const participant = textFlag(given, 'participant') ?? 'X';
  const session: ReviewedSession['session'] = {
    id: item.recording.id,
    title: item.recording.id,
    participant,
    recordings: [item],
    settings: defaultMatchSettings,
  };
  const parts: Uint8Array[] = [];
  for await (const block of bundleBlocks({ session, logs: [] }, (_, i) => loaded.leads[i]!)) parts.push(block);
  return joinBytes(parts);
}

/** Marks: those named by --detected, else the file's own, else the detector's where marks are needed. */
async function sessionItem(
  loaded: LoadedRecording,
  given: Given,
  output: Output,
  needsMarks: boolean,
): Promise<SessionRecording> {
  const { recording } = loaded;
  const path = textFlag(given, 'detected');
  const segmentsPath = textFlag(given, 'segments');
  const listed = segmentsPath === undefined ? loaded.segments : await listedSegments(segmentsPath, recording, output);
  const { segments, renamed } = distinctSegments(listed);
  for (const words of renamed) output.note(words);
  const of = (detected: Marks, detectedBy: string): SessionRecording => ({ recording, detected, detectedBy, segments });
  if (path !== undefined) return of(await listedMarks(path, recording, output), 'a list of marks');
  if (loaded.marks) return of(loaded.marks, loaded.marksBy);
  if (!needsMarks) return of(new Int32Array(0), '');
  const reference = Math.max(
    0,
    recording.leads.findIndex(l => l.samplingRateHz === recording.samplingRateHz),
  );
  const { samples } = await detectLead(loaded, reference);
  output.note(`the file carries no marks: ${samples.length} are from the ${detectorName}`);
  return of(marksFrom(samples), detectorName);
}

async function listedSegments(path: string, recording: Recording, output: Output): Promise<readonly Segment[]> {
  const source = await inflated(openFile(path));
  const { segments, warnings } = await readSegments(source, await previewSegments(source), recording);
  for (const warning of warnings) output.note(warning);
  return segments;
}
