import { createStore, type StoreApi } from 'zustand/vanilla';
import type { SampleIndex } from '../core/units';
import { beginsAsReview, reviewBeginningBytes } from '../formats/bundle/review-file';
import { FormatError } from '../formats/format-error';
import { type BackupFolder, createBackupFolder } from './backup/folder';
import { type Clocks, createClocks } from './clocks/clocks';
import { errorMessage } from './error-message';
import { unlockedFile } from './export/locking';
import { importBundle } from './import/bundle';
import { createImporting, type Importing } from './import/importing';
import { importReviewFile, offerIntactReviews } from './import/reviews';
import type { Library } from './library';
import { apexNear } from './review/apex';
import type { OccurrencesState } from './review/occurrences';
import type { ReviewWorkspace } from './review/workspace';
import { createPrefsStore, type PrefsStore } from './stores/prefs-store';
import { createUiStore, type UiStore } from './stores/ui-store';

/** What the strip offers to the rest of the page without being part of React. */
export interface ChartHandle {
  whenIdle(): Promise<void>;
  /** The visible window as a file. */
  picture(kind: 'svg' | 'png'): Promise<{ name: string; blob: Blob }>;
}

/** The whole page: one of it, made in main.tsx. */
export interface App {
  readonly ui: UiStore;
  readonly prefs: PrefsStore;
  readonly clocks: Clocks;
  readonly library: Library;
  readonly importing: Importing;
  readonly backupFolder: BackupFolder;
  readonly workspace: StoreApi<{ readonly workspace: ReviewWorkspace | null }>;
  /** The strip on the screen, if there is one. */
  chart: ChartHandle | null;
  now(): Date;
  apexNear(workspace: ReviewWorkspace, sample: SampleIndex): SampleIndex;
  /** Runs a command of the list by its id; set by the command layer. */
  runCommand: (id: string) => void;
  showOccurrences(occurrences: Omit<OccurrencesState, 'at'>): void;
  /**
   * Takes in files of any kind the page reads: bundles at once (answers the ids of the sessions stored; what goes wrong
   * is said as a notice), any others through the import sheet.
   */
  importFiles(files: readonly File[]): Promise<readonly string[]>;
}

export function createApp(library: Library): App {
  const workspace = createStore<{ readonly workspace: ReviewWorkspace | null }>(() => ({ workspace: null }));
  let importing: Importing | null = null;
  const app: App = {
    get importing() {
      importing ??= createImporting(app);
      return importing;
    },
    ui: createUiStore(),
    prefs: createPrefsStore(),
    clocks: createClocks(),
    backupFolder: createBackupFolder(),
    library,
    workspace,
    chart: null,
    now: () => new Date(),
    apexNear,
    runCommand: () => undefined,
    showOccurrences(occurrences) {
      workspace.getState().workspace?.occurrences.setState({ ...occurrences, at: -1 });
      app.runCommand('walk.next');
    },
    importFiles: files => importFiles(app, files),
  };
  return app;
}

async function importFiles(app: App, files: readonly File[]): Promise<readonly string[]> {
  const taken: string[] = [];
  const others: File[] = [];
  for (const given of files) {
    try {
      const file = await unlockedFile(app, given);
      const beginning = new Uint8Array(await file.slice(0, reviewBeginningBytes).arrayBuffer());
      if (isBundle(beginning)) taken.push(...(await importBundleOrOfferIntact(app, file)));
      else if (beginsAsReview(beginning)) taken.push(await importReviewFile(app, file));
      else others.push(file);
    } catch (error) {
      app.ui.notify(errorMessage(error));
    }
  }
  if (others.length > 0) app.importing.take(others);
  return taken;
}

async function importBundleOrOfferIntact(app: App, file: File): Promise<readonly string[]> {
  try {
    return [await importBundle(app, file)];
  } catch (error) {
    if (!(error instanceof FormatError)) throw error;
    await offerIntactReviews(app, file, error);
    return [];
  }
}

/** Zip files begin with 'PK', 3, 4. */
function isBundle([p, k, three, four]: Uint8Array): boolean {
  return p === 0x50 && k === 0x4b && three === 3 && four === 4;
}
