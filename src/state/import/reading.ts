import type { Detection } from '../../core/detector/detect';
import { leadsInWords, leadsWith } from '../../core/detector/lead-choice';
import type { EdfAnnotation } from '../../formats/edf/annotations';
import type { Opened } from '../../formats/opened';
import { wallMs } from '../../formats/opened';
import { openAnalysis } from '../../workers/analysis';
import type { importJobs } from '../../workers/import-jobs';
import { Cancelled } from '../../workers/outcome';
import type { ImportProgress } from '../../workers/read-into-store';
import type { Running, WorkerClient } from '../../workers/worker-client';
import type { BuiltInMarks, ImportedRecorder, ImportRow, ReadSignal } from './row';

export interface RecordingIds {
  readonly session: string;
  readonly recording: string;
}

/** One run over the files of an import: its jobs one after the other, any of which the person can stop. */
export interface ImportRun {
  signal(row: ImportRow, ids: RecordingIds, onProgress: (p: ImportProgress) => void): Promise<ReadSignal>;
  /** Adds what a file of marks, segments or annotations holds for a recorder. */
  addList(recorder: ImportedRecorder, row: ImportRow): Promise<ImportedRecorder>;
  detect(opened: Opened, session: string, onShare: (share: number) => void): Promise<BuiltInMarks>;
  cancel(): void;
  /** After this, a failure is the person's own wish. */
  readonly cancelled: () => boolean;
}

export function startRun(importer: WorkerClient<typeof importJobs>): ImportRun {
  let stop: (() => void) | null = null;
  let cancelled = false;
  const watched = async <T>(start: () => Running<T>): Promise<T> => {
    if (cancelled) throw new Cancelled();
    const running = start();
    stop = running.cancel;
    return running.done.finally(() => {
      stop = null;
    });
  };
  return {
    signal: (row, ids, onProgress) => watched(() => startSignal(importer, row, ids, onProgress)),
    async addList(recorder, row) {
      const { recording } = recorder.opened;
      const { file } = row;
      if (row.meaning === 'annotations') {
        const found = await watched(() => importer.start('annotations', { file }));
        const shift = shiftBetween(found.startedAt, recording.startedAt);
        const moved = found.annotations.map(a => ({ ...a, onsetSeconds: a.onsetSeconds + shift }));
        return { ...recorder, annotations: inOrder([...recorder.annotations, ...moved]) };
      }
      if (row.segments && row.meaning === 'text-segments') {
        const layout = row.segments;
        const list = await watched(() => importer.start('segments', { file, layout, clock: recording }));
        return { ...recorder, segments: [...recorder.segments, { fileName: file.name, list }] };
      }
      const layout = row.marks!;
      const list = await watched(() => importer.start('marks', { file, layout, clock: recording }));
      return { ...recorder, marks: { fileName: file.name, list } };
    },
    async detect(opened, session, onShare) {
      const analysis = openAnalysis();
      try {
        const { recording } = opened;
        const first = recording.leads.findIndex(l => l.samplingRateHz === recording.samplingRateHz);
        const leads = leadsWith(Math.max(0, first), recording.leads).map(lead => ({
          id: { session, recording: recording.id, lead },
          lead: recording.leads[lead]!,
        }));
        const input = { leads, gaps: recording.gaps };
        const found = await watched(() => analysis.start('detect', input, p => onShare(p.share)));
        return builtIn(found, leadsInWords(leads.map(l => l.lead)), recording.samplingRateHz);
      } finally {
        analysis.close();
      }
    },
    cancel() {
      cancelled = true;
      stop?.();
    },
    cancelled: () => cancelled,
  };
}

function startSignal(
  importer: WorkerClient<typeof importJobs>,
  row: ImportRow,
  ids: RecordingIds,
  onProgress: (p: ImportProgress) => void,
): Running<ReadSignal> {
  const input = { file: row.file, ids, recorder: row.recorder.trim() || 'recorder' };
  if (row.meaning === 'edf') {
    const running = importer.start('edf', { ...input, options: { keepPatient: row.keepPatient } }, onProgress);
    return {
      ...running,
      done: running.done.then(({ annotations, header: _, ...opened }) => ({ opened, annotations })),
    };
  }
  const running =
    row.meaning === 'raw'
      ? importer.start('raw', { ...input, layout: row.raw }, onProgress)
      : importer.start('text', { ...input, layout: row.text! }, onProgress);
  return { ...running, done: (running.done as Promise<Opened>).then(opened => ({ opened, annotations: [] })) };
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
