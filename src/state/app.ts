import type { Handling } from '../core/review/privacy/identifying';
import type { BackupFolder } from './backup/folder';
import type { Clocks } from './clocks/clocks';
import type { Importing } from './import/importing';
import type { Library } from './library';
import type { ArrivingSignals } from './review/arriving';
import type { WorkspaceStore } from './review/workspace';
import type { LabStore } from './sharing/lab-store';
import type { KeyCapsStore } from './stores/key-caps-store';
import type { PrefsStore } from './stores/prefs-store';
import type { UiStore } from './stores/ui-store';

/** What the strip offers to the rest of the page without being part of React. */
export interface ChartHandle {
  whenIdle(): Promise<void>;
  /** How much of their rows the shown traces take in height; over 1 some wave leaves its row. */
  roomTaken(): number;
  /** The visible window as a file. */
  picture(kind: 'svg' | 'png', handling: Handling): Promise<{ name: string; blob: Blob }>;
}

/**
 * The whole page: one of it, made by create-app.ts. It is for screens and start-up; a function below them names the parts
 * that it needs instead, so that a test can give it just those.
 */
export interface App {
  readonly ui: UiStore;
  readonly prefs: PrefsStore;
  /** What is printed on the keys of this keyboard. */
  readonly keyCaps: KeyCapsStore;
  readonly clocks: Clocks;
  readonly library: Library;
  readonly importing: Importing;
  readonly backupFolder: BackupFolder;
  readonly labStore: LabStore;
  /** Signals that are being fetched from it. */
  readonly arriving: ArrivingSignals;
  readonly workspace: WorkspaceStore;
  /** The strip on the screen, if there is one. */
  chart: ChartHandle | null;
  now(): Date;
  /** Runs a command of the list by its id; set by the command layer. */
  runCommand: (id: string) => void;
  /**
   * Takes in files of any kind the page reads: bundles at once (answers the ids of the sessions stored; what goes wrong
   * is said as a notice), any others through the import sheet.
   */
  importFiles(files: readonly File[]): Promise<readonly string[]>;
}
