import { createStore, type StoreApi } from 'zustand/vanilla';
import type { AnnotationUse } from '../formats/edf-annotations';
import type { TextAsked } from '../formats/text-layout';
import { openImporter } from '../workers/import';
import { Cancelled } from '../workers/outcome';
import type { App } from './app';
import { wordsOf } from './failure-words';
import { type ImportRun, startRun } from './import-reading';
import { type ImportedRecorder, type ImportRow, isSignal, type Meaning, newRow, rowAfterLook } from './import-row';
import { sessionOf } from './import-session';
import { detectWhereNeeded, readEverything } from './import-stages';
import { openTrail, type Trail } from './import-trail';
import type { Reading } from './reading-desk';
import { hashOfScreen } from './shell-store';

export interface ImportState {
  /** 'asked': what is what; 'reading'; 'confirm': what came out of it. 'none': nothing is being imported. */
  readonly stage: 'none' | 'asked' | 'reading' | 'confirm';
  readonly rows: readonly ImportRow[];
  readonly title: string;
  readonly participant: string;
  /** What is shown while a long recording is still being read. */
  readonly reading: Reading | null;
  readonly recorders: readonly ImportedRecorder[];
  /** What is being done, and how far it is. */
  readonly doing: { readonly what: string; readonly share: number | null; readonly secondsLeft: number | null } | null;
  /** What concerns no single file. */
  readonly problem: string | null;
}

export interface Importing {
  readonly store: StoreApi<ImportState>;
  take(files: readonly File[]): void;
  change(id: number, part: Partial<ImportRow>): void;
  fields(part: Partial<Pick<ImportState, 'title' | 'participant'>>): void;
  /** Looks anew, as another kind of content or with other separators. */
  look(id: number, as: Meaning, asked?: TextAsked): void;
  read(): Promise<void>;
  /** Stops reading, or goes back from what was read to the questions; from there, gives the import up. */
  back(): Promise<void>;
  readAnnotationsAs(row: number, text: string, use: AnnotationUse): void;
  /** Stores the session and opens its review. */
  confirm(): Promise<void>;
}

const nothing: ImportState = {
  stage: 'none',
  rows: [],
  title: '',
  participant: '',
  reading: null,
  recorders: [],
  doing: null,
  problem: null,
};

let nextRow = 1;

export function createImporting(app: App): Importing {
  const store = createStore<ImportState>(() => nothing);
  const set = store.setState;
  const importer = openImporter();
  let run: ImportRun | null = null;
  let trail: Trail | null = null;

  const changeRow = (id: number, part: (row: ImportRow) => Partial<ImportRow>) =>
    set(s => ({ rows: s.rows.map(r => (r.id === id ? { ...r, ...part(r) } : r)) }));

  const look = async (id: number, as: Meaning | null, asked: TextAsked) => {
    const row = store.getState().rows.find(r => r.id === id)!;
    const format = as === null || as === 'left out' ? null : as === 'annotations' ? 'edf' : as;
    changeRow(id, () => ({ stage: 'looking', problem: null, read: null }));
    try {
      const looked = await importer.start('look', { file: row.file, asked, ...(format ? { as: format } : {}) }).done;
      changeRow(id, r => ({ ...rowAfterLook(r, looked, format), asked, ...(as === null ? {} : { meaning: as }) }));
    } catch (error) {
      const nothingKnown = { text: null, marks: null, segments: null };
      changeRow(id, () => ({ ...nothingKnown, stage: 'asked', meaning: as ?? 'left out', problem: wordsOf(error) }));
    }
    set(s => ({ rows: joinLists(s.rows) }));
  };

  /** Back to the start page from a recording that was shown while it was read. */
  const leaveReading = () => {
    if (!store.getState().reading) return;
    location.hash = hashOfScreen({ name: 'start' });
    app.shell.setState({ screen: { name: 'start' } });
    set({ reading: null });
  };

  const giveUp = async () => {
    const left = trail;
    trail = null;
    set({ ...nothing });
    importer.close();
    await left?.remove().catch((error: Error) => app.shell.notify(wordsOf(error)));
  };

  const read = async () => {
    set({ stage: 'reading', problem: null, recorders: [] });
    const job = app.shell.startJob('Reading the recording', () => run?.cancel());
    const mine = startRun(importer);
    run = mine;
    const stopTelling = store.subscribe(({ doing }) => doing && job.progress(doing.share, doing.secondsLeft));
    try {
      trail ??= await openTrail(app, store.getState());
      const recorders = await readEverything({ store, changeRow, run: mine, trail });
      if (recorders) set({ stage: 'confirm', recorders });
      else {
        leaveReading();
        set({ stage: 'asked' });
      }
    } catch (error) {
      const problem = error instanceof Cancelled || mine.cancelled() ? 'Reading was stopped.' : wordsOf(error);
      leaveReading();
      set({ stage: 'asked', problem });
    } finally {
      stopTelling();
      job.end();
      run = null;
      set(s => ({ doing: null, rows: s.rows.map(r => (r.stage === 'reading' ? { ...r, stage: 'asked' } : r)) }));
    }
  };

  return {
    store,
    take(files) {
      const rows = files.map(file => newRow(nextRow++, file));
      const known = store.getState();
      const title = known.title || files[0]!.name.replace(/\.[^.]*$/, '');
      set({ stage: known.stage === 'none' ? 'asked' : known.stage, rows: [...known.rows, ...rows], title });
      for (const row of rows) void look(row.id, null, {});
    },
    change: (id, part) => changeRow(id, () => ({ read: null, problem: null, stage: 'asked', ...part })),
    fields: set,
    look: (id, as, asked = {}) => void look(id, as, asked),
    read,
    async back() {
      const { stage } = store.getState();
      if (stage === 'reading') run?.cancel();
      else if (stage === 'confirm') {
        leaveReading();
        set({ stage: 'asked', recorders: [] });
      } else await giveUp();
    },
    readAnnotationsAs(row, text, use) {
      const recorders = store
        .getState()
        .recorders.map(r => (r.row === row ? { ...r, uses: new Map([...r.uses, [text, use]]) } : r));
      set({ recorders });
    },
    async confirm() {
      const state = store.getState();
      try {
        const recorders = await detectWhereNeeded(state.recorders, trail!.session, startRun(importer), set);
        const { title, participant } = state;
        const fields = { id: trail!.session, title: title.trim() || trail!.session, participant: participant.trim() };
        const session = sessionOf(fields, recorders);
        await app.library.keepSession(session);
        await trail!.end();
        trail = null;
        set({ ...nothing });
        importer.close();
        const hash = hashOfScreen({ name: 'review', sessionId: session.id });
        if (location.hash !== hash) location.hash = hash;
      } catch (error) {
        set({ problem: wordsOf(error), doing: null });
      }
    },
  };
}

/** A list of marks goes to the only recorder, or to the first one that has none yet; the person may change it. */
function joinLists(rows: readonly ImportRow[]): ImportRow[] {
  const signals = rows.filter(isSignal).map(r => r.id);
  const taken = new Set(rows.filter(r => r.meaning === 'text-marks').map(r => r.belongsTo));
  return rows.map(row => {
    if (row.belongsTo !== null && signals.includes(row.belongsTo)) return row;
    if (row.meaning !== 'text-marks' && row.meaning !== 'annotations') return { ...row, belongsTo: null };
    const belongsTo = signals.find(id => !taken.has(id)) ?? signals[0] ?? null;
    taken.add(belongsTo);
    return { ...row, belongsTo };
  });
}
