import { createStore, type StoreApi } from 'zustand/vanilla';
import type { AnnotationUse } from '../../formats/edf/annotations';
import type { TextAsked } from '../../formats/text/layout';
import type { HasLibrary } from '../library';
import type { HasUi, UiStore } from '../stores/ui-store';
import type { ImportRow, Meaning } from './row';
import { type ImportState, nothingImported } from './state';

export interface Importing {
  readonly store: StoreApi<ImportState>;
  take(files: readonly File[]): Promise<void>;
  change(id: number, part: Partial<ImportRow>): void;
  fields(part: Partial<Pick<ImportState, 'title' | 'participant'>>): void;
  /** Looks again, as another kind of content or with other separators. */
  look(id: number, as: Meaning, asked?: TextAsked): void;
  read(): Promise<void>;
  /** Stops reading, or goes back from what was read to the questions; from there, gives the import up. */
  back(): Promise<void>;
  readAnnotationsAs(row: number, text: string, use: AnnotationUse): void;
  /** Takes another lead of a recorder for the ECG. */
  chooseLead(row: number, lead: number): void;
  /** Stores the session and opens its review. */
  confirm(): Promise<void>;
}

export interface ImportingNeeds extends HasLibrary, HasUi<UiStore> {
  now(): Date;
}

/** What does the work, on the same store. */
export type ImportWork = Omit<Importing, 'store' | 'fields'>;

/** Importing as the page holds it from the start; `load` fetches what does the work, with the first files. */
export function createImporting(load: (store: Importing['store']) => Promise<ImportWork>): Importing {
  const store = createStore<ImportState>(() => nothingImported);
  let loading: Promise<ImportWork> | null = null;
  let loaded: ImportWork | null = null;
  const fetched = async () => {
    loading ??= load(store);
    try {
      loaded = await loading;
      return loaded;
    } catch (error) {
      loading = null;
      throw error;
    }
  };
  // Once it is here, at once: a field that is typed into must not lag behind.
  const now = (act: (work: ImportWork) => void) => {
    if (loaded) act(loaded);
    else void fetched().then(act);
  };
  return {
    store,
    take: async files => (await fetched()).take(files),
    change: (id, part) => now(work => work.change(id, part)),
    fields: part => store.setState(part),
    look: (id, as, asked) => now(work => work.look(id, as, asked)),
    read: async () => (await fetched()).read(),
    back: async () => (await fetched()).back(),
    readAnnotationsAs: (row, text, use) => now(work => work.readAnnotationsAs(row, text, use)),
    chooseLead: (row, lead) => now(work => work.chooseLead(row, lead)),
    confirm: async () => (await fetched()).confirm(),
  };
}
