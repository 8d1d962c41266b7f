import { createStore, type StoreApi } from 'zustand/vanilla';
import type { SampleIndex } from '../core/units';
import { beginsAsReview, reviewBeginningBytes } from '../formats/bundle/review-file';
import { FormatError } from '../formats/format-error';
import { type BackupFolder, createBackupFolder } from './backup/folder';
import { type Clocks, createClocks } from './clocks/clocks';
import { wordsOf } from './error-message';
import { unlockedFile } from './export/locking';
import { takeBundle } from './import/bundle';
import { createImporting, type Importing } from './import/importing';
import { offerWhatIsWhole, takeReview } from './import/reviews';
import type { Library } from './library';
import { apexNear } from './review/apex';
import type { WalkState } from './review/occurrences';
import type { Desk } from './review/workspace';
import { createPrefsStore, type PrefsStore } from './stores/prefs-store';
import { createShellStore, type ShellStore } from './stores/ui-store';

/** What the strip offers to the rest of the page without being part of React. */
export interface ChartHandle {
  whenIdle(): Promise<void>;
  /** The visible window as a file. */
  picture(kind: 'svg' | 'png'): Promise<{ name: string; blob: Blob }>;
}

/** The whole page: one of it, made in main.tsx. */
export interface App {
  readonly shell: ShellStore;
  readonly prefs: PrefsStore;
  readonly clocks: Clocks;
  readonly library: Library;
  readonly importing: Importing;
  readonly backupFolder: BackupFolder;
  readonly desk: StoreApi<{ readonly desk: Desk | null }>;
  /** The strip on the screen, if there is one. */
  chart: ChartHandle | null;
  now(): Date;
  apexNear(desk: Desk, sample: SampleIndex): SampleIndex;
  /** Runs a command of the list by its id; set by the command layer. */
  runCommand: (id: string) => void;
  startWalk(walk: Omit<WalkState, 'at'>): void;
  /**
   * Takes in files of any kind the page reads: bundles at once (answers the ids of the sessions stored; what goes wrong
   * is said as a notice), any others through the import sheet.
   */
  takeFiles(files: readonly File[]): Promise<readonly string[]>;
}

export function createApp(library: Library): App {
  const desk = createStore<{ readonly desk: Desk | null }>(() => ({ desk: null }));
  let importing: Importing | null = null;
  const app: App = {
    get importing() {
      importing ??= createImporting(app);
      return importing;
    },
    shell: createShellStore(),
    prefs: createPrefsStore(),
    clocks: createClocks(),
    backupFolder: createBackupFolder(),
    library,
    desk,
    chart: null,
    now: () => new Date(),
    apexNear,
    runCommand: () => undefined,
    startWalk(walk) {
      desk.getState().desk?.walk.setState({ ...walk, at: -1 });
      app.runCommand('walk.next');
    },
    takeFiles: files => takeFiles(app, files),
  };
  return app;
}

async function takeFiles(app: App, files: readonly File[]): Promise<readonly string[]> {
  const taken: string[] = [];
  const others: File[] = [];
  for (const given of files) {
    try {
      const file = await unlockedFile(app, given);
      const beginning = new Uint8Array(await file.slice(0, reviewBeginningBytes).arrayBuffer());
      if (isBundle(beginning)) taken.push(...(await takeBundleOrOffer(app, file)));
      else if (beginsAsReview(beginning)) taken.push(await takeReview(app, file));
      else others.push(file);
    } catch (error) {
      app.shell.notify(wordsOf(error));
    }
  }
  if (others.length > 0) app.importing.take(others);
  return taken;
}

async function takeBundleOrOffer(app: App, file: File): Promise<readonly string[]> {
  try {
    return [await takeBundle(app, file)];
  } catch (error) {
    if (!(error instanceof FormatError)) throw error;
    await offerWhatIsWhole(app, file, error);
    return [];
  }
}

/** Zip files begin with 'PK', 3, 4. */
function isBundle([p, k, three, four]: Uint8Array): boolean {
  return p === 0x50 && k === 0x4b && three === 3 && four === 4;
}
