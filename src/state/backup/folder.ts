import { createStore, type StoreApi } from 'zustand/vanilla';
import {
  type BackupDirectory,
  canPickDirectory,
  forgetDirectory,
  pickDirectory,
  savedDirectory,
} from '../../storage/backup-directory';

export interface FolderState {
  /** 'none': not chosen; 'asks': the browser wants the person to allow it again; 'open': copies are written. */
  readonly access: 'unsupported' | 'none' | 'asks' | 'open';
  readonly name: string;
  /** Entries of the open review that the folder holds; null when none does. */
  readonly copiedEntries: number | null;
  /** Why the last copy could not be written; null when it could. */
  readonly problem: string | null;
}

/** A folder of the person's own that every review is copied to as they work. */
export interface BackupFolder {
  readonly store: StoreApi<FolderState>;
  /** Null unless copies can be written now. */
  readonly directory: () => BackupDirectory | null;
  /** Takes up the folder of the last visit. */
  load(): Promise<void>;
  choose(): Promise<void>;
  /** Asks the browser again; only on a press of a button. */
  allow(): Promise<void>;
  forget(): Promise<void>;
  report(part: Pick<Partial<FolderState>, 'copiedEntries' | 'problem'>): void;
  /** The browser no longer lets the page write there. */
  closed(): void;
}

export function createBackupFolder(): BackupFolder {
  const none = (): FolderState => {
    return { access: canPickDirectory() ? 'none' : 'unsupported', name: '', copiedEntries: null, problem: null };
  };
  const store = createStore<FolderState>(none);
  let directory: BackupDirectory | null = null;
  const take = (found: BackupDirectory, permission: PermissionState) => {
    directory = found;
    store.setState({ ...none(), access: permission === 'granted' ? 'open' : 'asks', name: found.name });
  };
  return {
    store,
    directory: () => (store.getState().access === 'open' ? directory : null),
    async load() {
      const found = await savedDirectory();
      if (found) take(found, await found.permission());
    },
    async choose() {
      const found = await pickDirectory(true);
      if (found) take(found, 'granted');
    },
    async allow() {
      if (directory) take(directory, await directory.ask());
    },
    async forget() {
      directory = null;
      store.setState(none());
      await forgetDirectory();
    },
    report: part => store.setState(part),
    closed: () => store.setState({ access: 'asks' }),
  };
}
