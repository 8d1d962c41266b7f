import { createStore, type StoreApi } from 'zustand/vanilla';
import { type FileKind, type ImportPlan, planImport } from '../../core/review/study/import-plan';
import { type NamedFile, patternsOf, readNameBy } from '../../core/review/study/naming';
import type { Study } from '../../core/review/study/study';
import { openImporter } from '../../workers/import';
import { errorMessage } from '../error-message';
import { type ImportRow, isSignal, missingIn, newRow, rowAfterLook } from '../import/row';

/** Files chosen for a study: where each came from, what its contents are, how far its import is. */
export interface ChosenStudyFile {
  /** With the folders it was chosen with. */
  readonly path: string;
  readonly row: ImportRow;
  readonly wanted: boolean;
  /** What a person said it is; null where its name says it. */
  readonly corrected: NamedFile | null;
  readonly stage: 'looking' | 'ready' | 'reading' | 'imported' | 'failed';
  /** 0 to 1 while it is read. */
  readonly share: number | null;
  /** What is doubtful about a recording that was read. */
  readonly found: readonly string[];
  /** Why its import failed. */
  readonly failure: string | null;
}

export interface ChosenFile {
  readonly path: string;
  readonly file: File;
}

export interface StudyFilesState {
  readonly files: readonly ChosenStudyFile[];
  readonly busy: boolean;
}

export interface StudyFiles {
  readonly store: StoreApi<StudyFilesState>;
  /** Looks at each in turn; one that was chosen before is looked at again. */
  add(chosen: readonly ChosenFile[]): Promise<void>;
  change(path: string, part: Partial<ChosenStudyFile>): void;
  clear(): void;
}

/** `corrected`: what was said before of files with these paths. */
export function createStudyFiles(corrected: Study['namedFiles'] = {}): StudyFiles {
  const store = createStore<StudyFilesState>(() => ({ files: [], busy: false }));
  let nextId = 1;
  const change = (path: string, part: Partial<ChosenStudyFile>) =>
    store.setState(s => ({ files: s.files.map(f => (f.path === path ? { ...f, ...part } : f)) }));
  return {
    store,
    change,
    clear: () => store.setState({ files: [] }),
    async add(chosen) {
      const wanted = chosen.filter(({ file }) => !file.name.startsWith('.') && file.name !== 'Thumbs.db');
      const fresh = wanted.map(({ path, file }): ChosenStudyFile => {
        const row = newRow(nextId++, file);
        return {
          path,
          row,
          wanted: true,
          corrected: corrected[path] ?? null,
          stage: 'looking',
          share: null,
          found: [],
          failure: null,
        };
      });
      const paths = new Set(fresh.map(f => f.path));
      const files = [...store.getState().files.filter(f => !paths.has(f.path)), ...fresh];
      store.setState({ files: files.sort((a, b) => (a.path < b.path ? -1 : 1)) });
      const importer = openImporter();
      for (const { path, row } of fresh) {
        const looked = await importer.start('look', { file: row.file }).done.then(
          found => rowAfterLook(row, found, null),
          (error: Error) => ({ ...row, problem: errorMessage(error) }),
        );
        change(path, { row: looked, stage: 'ready' });
      }
      importer.close();
    },
  };
}

/** What a file's name says, by which of the study's patterns; a person's word comes first. */
export interface FileByName {
  readonly named: NamedFile | null;
  /** From 0; null where no pattern fits, or a person said it. */
  readonly pattern: number | null;
}

export function readNames(files: readonly ChosenStudyFile[], patterns: string): FileByName[] {
  const all = patternsOf(patterns);
  return files.map(({ path, corrected }) => {
    if (corrected) return { named: corrected, pattern: null };
    return readNameBy(all, path) ?? { named: null, pattern: null };
  });
}

/** The study with what a person said of these files; of files that are not among them it keeps what it has. */
export function withCorrections(study: Study, files: readonly ChosenStudyFile[]): Study {
  const { namedFiles: before = {}, ...rest } = study;
  const listed = new Set(files.map(f => f.path));
  const others = Object.entries(before).filter(([path]) => !listed.has(path));
  const own = files.flatMap(({ path, corrected }) => (corrected ? [[path, corrected] as const] : []));
  const namedFiles = Object.fromEntries([...others, ...own]);
  return Object.keys(namedFiles).length > 0 ? { ...rest, namedFiles } : rest;
}

/** What the files become under a study's patterns; what is imported already is left alone. */
export function importPlanOf(files: readonly ChosenStudyFile[], patterns: string): ImportPlan {
  const names = readNames(files, patterns);
  return planImport(
    files.map(({ path, row, wanted, stage }, i) => {
      const problem = stage === 'looking' ? null : problemOf(row);
      return {
        path,
        wanted: wanted && stage !== 'imported',
        named: names[i]!.named,
        kind: stage === 'looking' || problem !== null ? null : kindOf(row),
        problem,
      };
    }),
  );
}

function kindOf(row: ImportRow): FileKind {
  if (isSignal(row)) return 'signal';
  if (row.meaning === 'text-marks') return 'marks';
  if (row.meaning === 'text-segments') return 'segments';
  return row.meaning === 'annotations' ? 'annotations' : 'bundle';
}

function problemOf(row: ImportRow): string | null {
  if (row.problem !== null) return row.problem;
  if (row.meaning === 'raw') {
    return row.looked?.sniffed.why.startsWith('it is text')
      ? 'it is neither a recording nor a list'
      : 'raw binary does not describe itself; import it by hand on the start page';
  }
  const missing = missingIn(row);
  return missing === null ? null : `${missing.replace(/\.$/, '')}: import it by hand on the start page`;
}

/** What was taken for granted about a file's contents, for the person to see before it is read. */
export function doubtsOf({ text, marks, segments }: ImportRow): readonly string[] {
  return [...(text?.doubts ?? []), ...(marks?.doubts ?? []), ...(segments?.doubts ?? [])];
}
