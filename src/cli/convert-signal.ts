import { judgedStretch } from '../core/detector/choose-lead';
import { leadsWith } from '../core/detector/lead-choice';
import { fitDoubt, fitMarks } from '../core/detector/marks-fit';
import { detectorName } from '../core/detector/name';
import { startReview } from '../core/marks/edit';
import { replay } from '../core/marks/log';
import { type Marks, marksFrom } from '../core/marks/markset';
import { defaultMatchSettings } from '../core/marks/match';
import { signalFingerprint } from '../core/recording/fingerprint';
import { wordCount } from '../core/recording/pieces';
import type { LeadSamples, Origin, Recording, Segment } from '../core/recording/recording';
import { distinctSegments } from '../core/recording/segment-names';
import { provenanceOf } from '../core/report/provenance';
import { detectedOf, type ReviewedSession, type SessionRecording } from '../core/review/session';
import { bundleBlocks } from '../formats/bundle/writer';
import { signalCsvBlocks } from '../formats/csv/signal';
import { reviewedEdf } from '../formats/edf/reviewed';
import { edfFile } from '../formats/edf/writer';
import { ishneBytes } from '../formats/ishne/writer';
import { inflated } from '../formats/open';
import { type RawEncoding, rawBytes } from '../formats/raw/raw';
import { previewSegments, readSegments } from '../formats/text/segments';
import { joinBytes } from '../formats/zip/writer';
import { type Given, textFlag, UsageError } from './command';
import { listedMarks } from './convert-marks';
import { detectLeads } from './detect';
import { openFile } from './files';
import type { FindingsLog } from './findings';
import type { OutKind } from './out-kind';
import { chooseLead, chooseLog, formatOf, type LoadedRecording } from './recording-input';

/** The recording as bytes of another format. */
export async function signalBytes(
  input: LoadedRecording,
  kind: OutKind,
  given: Given,
  found: FindingsLog,
): Promise<Uint8Array> {
  const loaded = await onlyLead(input, textFlag(given, 'lead'), found);
  if (kind === 'csv') return csvBytes(loaded);
  if (kind === 'ecg') return ecgBytes(loaded);
  if (kind === 'raw') return rawOut(loaded, given, found);
  if (kind === 'edf') return edfOut(loaded, given, found);
  return bundleOut(loaded, given, found);
}

async function onlyLead(
  loaded: LoadedRecording,
  asked: string | undefined,
  found: FindingsLog,
): Promise<LoadedRecording> {
  if (asked === undefined) return loaded;
  const index = await chooseLead(loaded, asked, found);
  const lead = loaded.recording.leads[index]!;
  if (lead.samplingRateHz !== loaded.recording.samplingRateHz) {
    throw new UsageError(`lead ${lead.name} has another rate than the marks and segments: it cannot stand alone`);
  }
  const recording: Recording = { ...loaded.recording, leads: [lead], ecgLead: 0 };
  return { ...loaded, recording, leads: [loaded.leads[index]!] };
}

async function csvBytes({ recording, leads }: LoadedRecording): Promise<Uint8Array> {
  sameRate(recording);
  const parts: Uint8Array[] = [];
  for await (const block of signalCsvBlocks(recording, leads)) parts.push(new TextEncoder().encode(block));
  return joinBytes(parts);
}

async function ecgBytes({ recording, leads }: LoadedRecording): Promise<Uint8Array> {
  refuseFiller(recording, 'ISHNE');
  try {
    return await ishneBytes(recording, leads);
  } catch (error) {
    if (error instanceof RangeError) throw new UsageError(error.message);
    throw error;
  }
}

async function rawOut({ recording, leads }: LoadedRecording, given: Given, found: FindingsLog): Promise<Uint8Array> {
  sameRate(recording);
  const encoding = textFlag(given, 'raw-out') ?? recording.leads[0]?.format ?? 'int16';
  if (!/^(int16|int24|int32|float32)$/.test(encoding))
    throw new UsageError(`--raw-out is int16, int24, int32 or float32`);
  refuseFiller(recording, 'raw words');
  const words = await Promise.all(leads.map((l: LeadSamples) => l.read(0, l.sampleCount)));
  const limit = { int16: 2 ** 15, int24: 2 ** 23, int32: 2 ** 31, float32: Number.POSITIVE_INFINITY }[
    encoding as RawEncoding
  ];
  const fits = (v: number) => v >= -limit && v < limit && (encoding === 'float32' || Number.isInteger(v));
  if (!words.every(w => w.every(fits)))
    throw new UsageError(`the words do not fit ${encoding}: choose another --raw-out`);
  for (const lead of recording.leads) {
    found.note(
      `lead ${lead.name}: ${lead.samplingRateHz} Hz, ${1 / lead.mvPerUnit} words per mV, offset ${lead.offset}`,
    );
  }
  if (recording.gaps.length > 0) found.note(`${recording.gaps.length} gaps are filler in the words`);
  return rawBytes(words, encoding as RawEncoding, true);
}

const mostFillerBytes = 2 ** 28;

/** Formats without gaps need words for them: for a gap of weeks that is no file anybody wants. */
function refuseFiller({ leads }: Recording, format: string): void {
  const filler = leads.reduce((n, l) => n + 4 * (l.sampleCount - wordCount(l)), 0);
  if (filler <= mostFillerBytes) return;
  const mib = Math.round(filler / 2 ** 20);
  throw new UsageError(`${format} cannot hold gaps, and words for them would take ${mib} MiB: convert to EDF+ or CSV`);
}

function sameRate(recording: Recording): void {
  const other = recording.leads.find(l => l.samplingRateHz !== recording.samplingRateHz);
  if (other) throw new UsageError(`leads have different rates: choose one with --lead`);
}

async function edfOut(loaded: LoadedRecording, given: Given, found: FindingsLog): Promise<Uint8Array> {
  const rater = textFlag(given, 'rater');
  const hasMarks = loaded.marks !== null || textFlag(given, 'detected') !== undefined;
  const plain = await sessionItem(loaded, given, found, hasMarks);
  const origin = loaded.reviewed ? plain.recording.origin : originOf(plain.recording, loaded, found, '');
  const item = { ...plain, recording: { ...plain.recording, origin } };
  const review =
    rater === undefined
      ? startReview(item.detected)
      : replay(chooseLog(loaded, rater), detectedOf(loaded.reviewed!.session)).recordings.get(item.recording.id)!;
  const participant = textFlag(given, 'participant') ?? loaded.reviewed?.session.participant ?? 'X';
  const { id, settings } = loaded.reviewed?.session ?? { id: item.recording.id, settings: defaultMatchSettings };
  const session = { id, title: '', participant, recordings: [item], settings };
  const logs = rater === undefined ? [] : [chooseLog(loaded, rater)];
  const file = await edfFile(reviewedEdf(item, review, loaded.leads, participant, provenanceOf({ session, logs })));
  found.add({ doubts: file.warnings });
  const parts: Uint8Array[] = [];
  for await (const block of file.blocks()) parts.push(block);
  return joinBytes(parts);
}

async function bundleOut(loaded: LoadedRecording, given: Given, found: FindingsLog): Promise<Uint8Array> {
  if (loaded.reviewed) throw new UsageError('IN is a bundle already');
  const plain = await sessionItem(loaded, given, found, true);
  const item = { ...plain, recording: await withOrigin(plain.recording, loaded, found) };
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

async function withOrigin(recording: Recording, loaded: LoadedRecording, found: FindingsLog): Promise<Recording> {
  const index = await chooseLead(loaded, undefined, found);
  const [from, to] = judgedStretch(recording, recording.leads[index]!);
  const words = await loaded.leads[index]!.read(from, to);
  const origin = originOf(recording, loaded, found, signalFingerprint(recording.leads[index]!, words));
  const atRate = recording.leads[index]!.samplingRateHz === recording.samplingRateHz;
  return { ...recording, ...(atRate ? { ecgLead: index } : {}), origin };
}

function originOf(
  recording: Recording,
  { fileSha256 }: LoadedRecording,
  found: FindingsLog,
  signalSha256: string,
): Origin {
  const { doubts, dropped } = found.all;
  return { format: formatOf(recording), fileSha256, signalSha256, doubts, leftOut: dropped };
}

/** Marks: those named by --detected, else the file's own, else the detector's where marks are needed. */
async function sessionItem(
  loaded: LoadedRecording,
  given: Given,
  found: FindingsLog,
  needsMarks: boolean,
): Promise<SessionRecording> {
  const { recording } = loaded;
  const path = textFlag(given, 'detected');
  const segmentsPath = textFlag(given, 'segments');
  const listed = segmentsPath === undefined ? loaded.segments : await listedSegments(segmentsPath, recording, found);
  const { segments, renamed } = distinctSegments(listed);
  found.add({ doubts: renamed });
  const of = (detected: Marks, detectedBy: string): SessionRecording => ({ recording, detected, detectedBy, segments });
  if (path !== undefined) {
    const marks = await listedMarks(path, recording, found);
    await tellFit(loaded, marks, found);
    return of(marks, 'a list of marks');
  }
  if (loaded.marks) return of(loaded.marks, loaded.marksBy);
  if (!needsMarks) return of(new Int32Array(0), '');
  const index = await chooseLead(loaded, undefined, found);
  const { samples } = await detectLeads(loaded, leadsWith(index, recording.leads));
  const { samplingRateHz } = recording.leads[index]!;
  const marks = samples.map(m => Math.round((m * recording.samplingRateHz) / samplingRateHz));
  found.note(`the file carries no marks: ${marks.length} are from the ${detectorName}`);
  return of(marksFrom(marks), detectorName);
}

/** Marks that lie where the detector finds no beats are doubtful: made at another rate, shifted, or of another signal. */
async function tellFit(loaded: LoadedRecording, marks: Marks, found: FindingsLog): Promise<void> {
  const { recording } = loaded;
  const reference = recording.leads.findIndex(l => l.samplingRateHz === recording.samplingRateHz);
  if (reference < 0 || recording.samplingRateHz < 50 || recording.samplingRateHz > 10_000) return;
  const index = await chooseLead(loaded, undefined, found);
  const { samplingRateHz } = recording.leads[index]!;
  const { samples } = await detectLeads(loaded, leadsWith(index, recording.leads));
  const beats = samples.map(m => Math.round((m * recording.samplingRateHz) / samplingRateHz));
  const fit = fitMarks(marks, marksFrom(beats), recording.samplingRateHz);
  const doubt = fit ? fitDoubt(fit, recording.samplingRateHz) : null;
  if (doubt !== null) found.add({ doubts: [doubt] });
}

async function listedSegments(path: string, recording: Recording, found: FindingsLog): Promise<readonly Segment[]> {
  const source = await inflated(openFile(path));
  const layout = await previewSegments(source);
  const { segments, understood, warnings, dropped } = await readSegments(source, layout, recording);
  found.addFile(path, 'list of segments');
  found.add({ understood, doubts: [...layout.doubts, ...warnings], dropped });
  return segments;
}
