import type { StoreApi } from 'zustand/vanilla';
import type { AnnotationUse } from '../../formats/edf/annotations';
import type { TextAsked } from '../../formats/text/layout';
import { openImporter } from '../../workers/import';
import { Cancelled } from '../../workers/outcome';
import { errorMessage } from '../error-message';
import { hashOfScreen } from '../stores/ui-store';
import { joinLists } from './belonging';
import type { ImportingNeeds, ImportWork } from './importing';
import { type ImportJournal, openJournal } from './journal';
import { type ImportRun, startRun } from './reading';
import { sameSignals } from './repeats';
import { type ImportedRecorder, type ImportRow, type Meaning, newRow, rowAfterLook } from './row';
import { sessionOf } from './session';
import { detectWhereNeeded, readEverything } from './stages';
import { type ImportState, nothingImported } from './state';

let nextRow = 1;

/** Importing files: looking, asking, reading, confirming. */
export class FileImporting implements ImportWork {
  private readonly importer = openImporter();
  private run: ImportRun | null = null;
  private journal: ImportJournal | null = null;
  private storing = false;
  private readonly app: ImportingNeeds;
  private readonly store: StoreApi<ImportState>;

  constructor(app: ImportingNeeds, store: StoreApi<ImportState>) {
    this.app = app;
    this.store = store;
  }

  async take(files: readonly File[]): Promise<void> {
    const rows = files.map(file => newRow(nextRow++, file));
    const known = this.store.getState();
    const title = known.title || files[0]!.name.replace(/\.[^.]*$/, '');
    const stage = known.stage === 'none' ? 'asked' : known.stage;
    this.store.setState({ stage, rows: [...known.rows, ...rows], title });
    for (const row of rows) void this.inspect(row.id, null, {});
  }

  change(id: number, part: Partial<ImportRow>): void {
    this.changeRow(id, () => ({ read: null, problem: null, stage: 'asked', ...part }));
  }

  look(id: number, as: Meaning, asked: TextAsked = {}): void {
    void this.inspect(id, as, asked);
  }

  chooseLead(row: number, ecgLead: number): void {
    this.changeRow(row, () => ({ ecgLead }));
    void this.read();
  }

  async read(): Promise<void> {
    const { store } = this;
    const uses = new Map(store.getState().recorders.map(r => [r.row, r.uses]));
    store.setState({ stage: 'reading', problem: null, recorders: [] });
    const job = this.app.ui.startJob('Reading the recording', () => this.run?.cancel());
    const run = startRun(this.importer);
    this.run = run;
    const stopTelling = store.subscribe(({ doing }) => doing && job.progress(doing.share, doing.secondsLeft));
    try {
      this.journal ??= await openJournal(this.app, store.getState().title);
      const recorders = await readEverything({ store, changeRow: this.changeRow, run, journal: this.journal }, uses);
      if (recorders) store.setState({ stage: 'confirm', recorders, repeats: await this.repeats(recorders) });
      else this.askAgain({});
    } catch (error) {
      const stopped = error instanceof Cancelled || run.cancelled();
      this.askAgain({ problem: stopped ? 'Reading was cancelled.' : errorMessage(error) });
    } finally {
      stopTelling();
      job.end();
      this.run = null;
      const asked = (row: ImportRow): ImportRow => (row.stage === 'reading' ? { ...row, stage: 'asked' } : row);
      store.setState(s => ({ doing: null, rows: s.rows.map(asked) }));
    }
  }

  async back(): Promise<void> {
    const { stage } = this.store.getState();
    if (stage === 'reading') this.run?.cancel();
    else if (stage === 'confirm') this.askAgain({ recorders: [] });
    else await this.discard();
  }

  readAnnotationsAs(row: number, text: string, use: AnnotationUse): void {
    const changed = (r: ImportedRecorder) => (r.row === row ? { ...r, uses: new Map([...r.uses, [text, use]]) } : r);
    this.store.setState(s => ({ recorders: s.recorders.map(changed) }));
  }

  async confirm(): Promise<void> {
    const { store } = this;
    const state = store.getState();
    const { journal } = this;
    // A second click comes while the first one is still at work.
    if (this.storing || !journal) return;
    this.storing = true;
    try {
      const run = startRun(this.importer);
      const recorders = await detectWhereNeeded(state.recorders, journal.session, run, store.setState);
      const { title, participant } = state;
      const fields = { id: journal.session, title: title.trim() || journal.session, participant: participant.trim() };
      const session = sessionOf(fields, recorders);
      await this.app.library.saveSession(session);
      await journal.end();
      this.journal = null;
      this.end();
      const hash = hashOfScreen({ name: 'review', sessionId: session.id });
      if (location.hash !== hash) location.hash = hash;
    } catch (error) {
      store.setState({ problem: errorMessage(error), doing: null });
    } finally {
      this.storing = false;
    }
  }

  private readonly changeRow = (id: number, part: (row: ImportRow) => Partial<ImportRow>) =>
    this.store.setState(s => ({ rows: s.rows.map(r => (r.id === id ? { ...r, ...part(r) } : r)) }));

  private async inspect(id: number, as: Meaning | null, asked: TextAsked): Promise<void> {
    const row = this.store.getState().rows.find(r => r.id === id)!;
    const format = as === null || as === 'left out' ? null : as === 'annotations' ? 'edf' : as;
    this.changeRow(id, () => ({ stage: 'looking', problem: null, read: null }));
    try {
      const question = { file: row.file, asked, ...(format ? { as: format } : {}) };
      const looked = await this.importer.start('look', question).done;
      const meant = as === null ? {} : { meaning: as };
      this.changeRow(id, r => ({ ...rowAfterLook(r, looked, format), asked, ...meant }));
    } catch (error) {
      const nothingKnown = { text: null, marks: null, segments: null };
      this.changeRow(id, () => ({
        ...nothingKnown,
        stage: 'asked',
        meaning: as ?? 'left out',
        problem: errorMessage(error),
      }));
    }
    this.store.setState(s => ({ rows: joinLists(s.rows) }));
  }

  private async repeats(recorders: readonly ImportedRecorder[]): Promise<readonly string[]> {
    return sameSignals(recorders, await this.app.library.sessions());
  }

  /** Back to the questions; and to the start page from a recording that was shown while it was read. */
  private askAgain(part: Partial<ImportState>): void {
    if (this.store.getState().reading) {
      location.hash = hashOfScreen({ name: 'start' });
      this.app.ui.setState({ screen: { name: 'start' } });
      this.store.setState({ reading: null });
    }
    this.store.setState({ stage: 'asked', ...part });
  }

  private async discard(): Promise<void> {
    const left = this.journal;
    this.journal = null;
    this.end();
    await left?.remove().catch((error: Error) => this.app.ui.notify(errorMessage(error)));
  }

  private end(): void {
    this.store.setState({ ...nothingImported });
    this.importer.close();
  }
}
