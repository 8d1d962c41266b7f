import type { StoreApi } from 'zustand/vanilla';
import { idFrom } from '../../formats/opened';
import { Cancelled } from '../../workers/outcome';
import type { ImportProgress } from '../../workers/read-into-store';
import { errorMessage } from '../error-message';
import { partialReadingOf } from '../review/partial-workspace';
import { hashOfScreen } from '../stores/ui-store';
import type { ImportJournal } from './journal';
import type { ImportRun } from './reading';
import { type ImportedRecorder, type ImportRow, isSignal, missingIn } from './row';
import { placedMarks } from './session';
import type { ImportState } from './state';

export interface ImportContext {
  readonly store: StoreApi<ImportState>;
  readonly changeRow: (id: number, part: (row: ImportRow) => Partial<ImportRow>) => void;
  readonly run: ImportRun;
  readonly journal: ImportJournal;
}

/**
 * Reads every file that is not left out. Null when some could not be read: their rows say why, the others stay read. `uses`:
 * what annotations were said to be when they were read before, by row.
 */
export async function readEverything(
  context: ImportContext,
  uses: ReadonlyMap<number, ImportedRecorder['uses']>,
): Promise<readonly ImportedRecorder[] | null> {
  const { store, changeRow, journal, run } = context;
  const wanted = store.getState().rows.filter(r => r.meaning !== 'left out');
  const signals = wanted.filter(isSignal);
  if (signals.length === 0) {
    store.setState({ problem: 'None of these files is a signal: add the recording itself.' });
    return null;
  }
  const used = new Set<string>();
  const recorders: ImportedRecorder[] = [];
  let broken = false;
  const guarded = async (row: ImportRow, work: () => Promise<void>) => {
    try {
      await work();
    } catch (error) {
      if (error instanceof Cancelled || run.cancelled()) throw error;
      broken = true;
      changeRow(row.id, () => ({ stage: 'asked', problem: errorMessage(error) }));
    }
  };
  for (const row of signals) {
    await guarded(row, async () => {
      const recording = recordingId(row, used);
      const read = row.read ?? (await readSignal(context, row, recording, signals.length === 1));
      changeRow(row.id, () => ({ stage: 'read', problem: null, read }));
      const recorder = await run.recorder(row, read, { session: journal.session, recording });
      recorders.push({ ...recorder, uses: uses.get(row.id) ?? recorder.uses });
    });
  }
  for (const row of wanted.filter(r => !isSignal(r))) {
    await guarded(row, () => addList(context, row, recorders));
  }
  if (broken) return null;
  const detected = await detectWhereNeeded(recorders, journal.session, run, store.setState);
  return Promise.all(detected.map(r => heldAgainstBeats(r, journal.session, run)));
}

function recordingId(row: ImportRow, used: Set<string>): string {
  const wanted = row.read?.opened.recording.id ?? idFrom(`${row.recorder}.`);
  let id = wanted;
  for (let n = 2; used.has(id); n++) id = `${wanted}-${n}`;
  used.add(id);
  return id;
}

async function readSignal(context: ImportContext, row: ImportRow, recording: string, alone: boolean) {
  const { store, changeRow, run, journal } = context;
  const missing = row.meaning === 'text-signal' && !row.text ? row.problem : missingIn(row);
  if (missing) throw new Error(missing);
  await journal.begin(recording, row.file);
  changeRow(row.id, () => ({ stage: 'reading', problem: null, share: 0, secondsLeft: null }));
  const early = alone && row.meaning === 'edf';
  let live = true;
  const stop = () => {
    live = false;
  };
  const onProgress = (p: ImportProgress) => {
    // A report may come in behind the end of the job.
    if (!live || run.cancelled()) return;
    const share = p.totalBytes > 0 ? p.doneBytes / p.totalBytes : 0;
    journal.progress(recording, share);
    changeRow(row.id, () => ({ share, secondsLeft: p.secondsLeft }));
    store.setState({ doing: { what: `reading ${row.file.name}`, share, secondsLeft: p.secondsLeft } });
    if (!early) return;
    const before = store.getState().reading;
    const reading = partialReadingOf(
      before,
      { row, recording, session: journal.session, title: store.getState().title },
      p,
    );
    if (reading) store.setState({ reading });
    if (reading && !before) location.hash = hashOfScreen({ name: 'review', sessionId: journal.session });
  };
  const read = await run.signal(row, { session: journal.session, recording }, onProgress).finally(stop);
  const { reading } = store.getState();
  if (reading) store.setState({ reading: { ...reading, whole: read.opened.recording } });
  return read;
}

async function addList(
  { run, changeRow }: ImportContext,
  row: ImportRow,
  recorders: ImportedRecorder[],
): Promise<void> {
  const layout = row.meaning === 'text-marks' ? row.marks : row.segments;
  if (row.meaning !== 'annotations' && !layout) throw new Error(row.problem ?? 'It is not understood.');
  const own = recorders.filter(r => row.belongsTo === null || r.row === row.belongsTo);
  for (const recorder of own) {
    if (row.meaning === 'text-marks' && recorder.marks) {
      const name = recorder.opened.recording.recorder;
      throw new Error(`${name} has marks from ${recorder.marks.fileName} already: leave one of the files out.`);
    }
    recorders[recorders.indexOf(recorder)] = await run.addList(recorder, row);
  }
  changeRow(row.id, () => ({ stage: 'read', problem: null }));
}

/** The built-in detector's marks for recorders that have none. */
export async function detectWhereNeeded(
  recorders: readonly ImportedRecorder[],
  session: string,
  run: ImportRun,
  set: (part: Partial<ImportState>) => void,
): Promise<readonly ImportedRecorder[]> {
  const out: ImportedRecorder[] = [];
  for (const recorder of recorders) {
    if (recorder.builtIn || placedMarks(recorder)) {
      out.push(recorder);
      continue;
    }
    const what = `looking for the beats of ${recorder.opened.recording.recorder}`;
    set({ doing: { what, share: 0, secondsLeft: null } });
    const builtIn = await run.detect(recorder.opened, session, share =>
      set({ doing: { what, share, secondsLeft: null } }),
    );
    out.push({ ...recorder, builtIn });
  }
  return out;
}

/** Marks that came with the files are held against the detector's own. */
export async function heldAgainstBeats(
  recorder: ImportedRecorder,
  session: string,
  run: ImportRun,
): Promise<ImportedRecorder> {
  const placed = placedMarks(recorder);
  if (!placed || recorder.beats) return recorder;
  return { ...recorder, beats: await run.beatsNear(placed.marks, recorder.opened.recording, session) };
}
