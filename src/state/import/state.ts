import type { PartialReading } from '../review/partial-workspace';
import type { ImportedRecorder, ImportRow } from './row';

export interface ImportState {
  /** 'asked': what is what; 'reading'; 'confirm': what came out of it. 'none': nothing is being imported. */
  readonly stage: 'none' | 'asked' | 'reading' | 'confirm';
  readonly rows: readonly ImportRow[];
  readonly title: string;
  readonly participant: string;
  /** What is shown while a long recording is still being read. */
  readonly reading: PartialReading | null;
  readonly recorders: readonly ImportedRecorder[];
  /** Signals that are stored already, or stand here twice, in words. */
  readonly repeats: readonly string[];
  /** What is being done, and how far it is. */
  readonly doing: { readonly what: string; readonly share: number | null; readonly secondsLeft: number | null } | null;
  /** What concerns no single file. */
  readonly problem: string | null;
}

export const nothingImported: ImportState = {
  stage: 'none',
  rows: [],
  title: '',
  participant: '',
  reading: null,
  recorders: [],
  repeats: [],
  doing: null,
  problem: null,
};
