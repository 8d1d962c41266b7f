import type { Detection } from '../../core/detector/detect';
import { leadsInWords, leadsWith } from '../../core/detector/lead-choice';
import { type Marks, marksFrom } from '../../core/marks/markset';
import { onLead } from '../../core/recording/ecg-lead';
import type { Recording } from '../../core/recording/recording';
import { type Span, span } from '../../core/units';
import type { EdfAnnotation } from '../../formats/edf/annotations';
import type { Opened } from '../../formats/opened';
import { wallMs } from '../../formats/opened';
import { doubtsLeft } from '../../formats/text/layout';
import { openAnalysis } from '../../workers/analysis';
import type { analysisJobs } from '../../workers/analysis-jobs';
import type { importJobs } from '../../workers/import-jobs';
import { Cancelled } from '../../workers/outcome';
import type { ImportProgress } from '../../workers/read-into-store';
import type { Running, WorkerClient } from '../../workers/worker-client';
import type { BuiltInMarks, FoundBeats, ImportedRecorder, ImportRow, ReadSignal } from './row';

export interface RecordingIds {
  readonly session: string;
  readonly recording: string;
}

/** One run over the files of an import: its jobs, all of which the person can stop. */
export interface ImportRun {
  signal(row: ImportRow, ids: RecordingIds, onProgress: (p: ImportProgress) => void): Promise<ReadSignal>;
  /** The recorder that was read, on the lead chosen for it. */
  recorder(row: ImportRow, read: ReadSignal, ids: RecordingIds): Promise<ImportedRecorder>;
  /** Adds what a file of marks, segments or annotations holds for a recorder. */
  addList(recorder: ImportedRecorder, row: ImportRow): Promise<ImportedRecorder>;
  detect(opened: Opened, session: string, onShare: (share: number) => void): Promise<BuiltInMarks>;
  /** Beats around the first of these marks, to hold them against. */
  beatsNear(marks: Marks, recording: Recording, session: string): Promise<FoundBeats | null>;
  cancel(): void;
  /** After this, a failure is the person's own wish. */
  readonly cancelled: () => boolean;
}

type Analysis = WorkerClient<typeof analysisJobs>;

export function startRun(importer: WorkerClient<typeof importJobs>): ImportRun {
  const stops = new Set<() => void>();
  let cancelled = false;
  const watched = async <T>(start: () => Running<T>): Promise<T> => {
    if (cancelled) throw new Cancelled();
    const running = start();
    stops.add(running.cancel);
    return running.done.finally(() => stops.delete(running.cancel));
  };
  const analysed = async <T>(start: (analysis: Analysis) => Running<T>): Promise<T> => {
    const analysis = openAnalysis();
    return watched(() => start(analysis)).finally(() => analysis.close());
  };
  return {
    signal: (row, ids, onProgress) => readSignal(importer, watched, analysed, row, ids, onProgress),
    recorder: (row, read, ids) => recorderOf(analysed, row, read, ids),
    addList: async (recorder, row) => addList(importer, watched, recorder, row),
    async detect(opened, session, onShare) {
      const { recording } = opened;
      const leads = detectorLeads(recording, session);
      const input = { leads, gaps: recording.gaps };
      const found = await analysed(a => a.start('detect', input, p => onShare(p.share)));
      return builtIn(found, leadsInWords(leads.map(l => l.lead)), recording.samplingRateHz);
    },
    async beatsNear(marks, recording, session) {
      if (marks.length < 20 || !detectable(recording)) return null;
      const within = stretchAround(marks, recording);
      const input = { leads: detectorLeads(recording, session), gaps: recording.gaps, within };
      const { samples } = await analysed(a => a.start('detect', input));
      return { samples: marksFrom(samples.map(s => s + within.start)), within };
    },
    cancel() {
      cancelled = true;
      for (const stop of stops) stop();
    },
    cancelled: () => cancelled,
  };
}

type Watched = <T>(start: () => Running<T>) => Promise<T>;
type Analysed = <T>(start: (analysis: Analysis) => Running<T>) => Promise<T>;
type Importer = WorkerClient<typeof importJobs>;

/** The checksum of the file is taken at the same time, in a thread of its own. */
async function readSignal(
  importer: Importer,
  watched: Watched,
  analysed: Analysed,
  row: ImportRow,
  ids: RecordingIds,
  onProgress: (p: ImportProgress) => void,
): Promise<ReadSignal> {
  const checksum = analysed(a => a.start('fileChecksum', { file: row.file }));
  checksum.catch(() => undefined);
  const read = await watched(() => startSignal(importer, row, ids, onProgress));
  return { ...read, fileSha256: await checksum };
}

async function recorderOf(
  analysed: Analysed,
  row: ImportRow,
  read: ReadSignal,
  ids: RecordingIds,
): Promise<ImportedRecorder> {
  const { recording } = read.opened;
  const lead = await analysed(a => a.start('chooseLead', { ids, recording, of: row.ecgLead }));
  const named = { ...onLead(recording, lead.index), recorder: row.recorder.trim() || 'recorder' };
  return {
    row: row.id,
    opened: { ...read.opened, recording: named },
    lead,
    fileSha256: read.fileSha256,
    accepted: row.meaning === 'text-signal' ? (row.text ? doubtsLeft(row.text) : []) : [],
    annotations: read.annotations,
    uses: new Map(),
    marks: null,
    segments: [],
    builtIn: null,
    beats: null,
  };
}

async function addList(
  importer: Importer,
  watched: Watched,
  recorder: ImportedRecorder,
  row: ImportRow,
): Promise<ImportedRecorder> {
  const clock = recorder.opened.recording;
  const { file } = row;
  if (row.meaning === 'annotations') {
    const found = await watched(() => importer.start('annotations', { file }));
    const shift = shiftBetween(found.startedAt, clock.startedAt);
    const moved = found.annotations.map(a => ({ ...a, onsetSeconds: a.onsetSeconds + shift }));
    return { ...recorder, annotations: inOrder([...recorder.annotations, ...moved]) };
  }
  if (row.segments && row.meaning === 'text-segments') {
    const layout = row.segments;
    const list = await watched(() => importer.start('segments', { file, layout, clock }));
    const accepted = [...recorder.accepted, ...layout.doubts];
    return { ...recorder, accepted, segments: [...recorder.segments, { fileName: file.name, list }] };
  }
  const layout = row.marks!;
  const list = await watched(() => importer.start('marks', { file, layout, clock }));
  return {
    ...recorder,
    accepted: [...recorder.accepted, ...layout.doubts],
    marks: { fileName: file.name, list },
  };
}

function startSignal(
  importer: Importer,
  row: ImportRow,
  ids: RecordingIds,
  onProgress: (p: ImportProgress) => void,
): Running<Omit<ReadSignal, 'fileSha256'>> {
  const input = { file: row.file, ids, recorder: row.recorder.trim() || 'recorder' };
  if (row.meaning === 'edf') {
    const running = importer.start('edf', { ...input, options: { keepPatient: row.keepPatient } }, onProgress);
    return {
      ...running,
      done: running.done.then(({ annotations, header: _, ...opened }) => ({ opened, annotations })),
    };
  }
  const running =
    row.meaning === 'ishne'
      ? importer.start('ishne', input, onProgress)
      : row.meaning === 'raw'
        ? importer.start('raw', { ...input, layout: row.raw }, onProgress)
        : importer.start('text', { ...input, layout: row.text! }, onProgress);
  return { ...running, done: (running.done as Promise<Opened>).then(opened => ({ opened, annotations: [] })) };
}

function detectorLeads(recording: Recording, session: string) {
  return leadsWith(recording.ecgLead ?? 0, recording.leads).map(lead => ({
    id: { session, recording: recording.id, lead },
    lead: recording.leads[lead]!,
  }));
}

/** The detector's own limits. */
const detectable = ({ samplingRateHz }: Recording) => samplingRateHz >= 50 && samplingRateHz <= 10_000;

const lookedAtSeconds = 3600;

/** An hour from the start, or from shortly before the first mark where that comes late. */
function stretchAround(marks: Marks, { samplingRateHz, sampleCount }: Recording): Span {
  const hour = lookedAtSeconds * samplingRateHz;
  const start = marks[0]! < hour / 2 ? 0 : Math.max(0, Math.floor(marks[0]! - 30 * samplingRateHz));
  return span(start, Math.min(sampleCount, start + Math.ceil(hour)));
}

/** Seconds from a recording's start to that of a file beside it; 0 when either is not known. */
function shiftBetween(file: string | null, recording: string | null): number {
  const [a, b] = [file, recording].map(t => (t === null ? null : wallMs(t)));
  return a == null || b == null ? 0 : (a - b) / 1000;
}

function inOrder(annotations: readonly EdfAnnotation[]): EdfAnnotation[] {
  return [...annotations].sort((a, b) => a.onsetSeconds - b.onsetSeconds);
}

function builtIn({ samples, unsure }: Detection, leads: string, rateHz: number): BuiltInMarks {
  const unsureSeconds = unsure.reduce((sum, s) => sum + s.end - s.start, 0) / rateHz;
  return { samples, leads, unsureSpans: unsure.length, unsureSeconds };
}
