import { createStore } from 'zustand/vanilla';
import type { App } from './app';
import { createBackupFolder } from './backup/folder';
import { createClocks } from './clocks/clocks';
import { createImporting, type Importing } from './import/importing';
import type { Library } from './library';
import { createArriving } from './review/arriving';
import type { ReviewWorkspace } from './review/workspace';
import { createLabStore } from './sharing/lab-store';
import { createKeyCaps } from './stores/key-caps-store';
import { createPrefsStore } from './stores/prefs-store';
import { createUiStore } from './stores/ui-store';

// Fetched when first needed: the first page works without them.
const fileImporting = () => import('./import/file-importing');
const filesOfAnyKind = () => import('./import/files');

/** Puts the page together. Only start-up and tests come here; everything else is given what it needs. */
export function createApp(library: Library): App {
  let importing: Importing | null = null;
  const prefs = createPrefsStore();
  const app: App = {
    get importing() {
      importing ??= createImporting(async store => new (await fileImporting()).FileImporting(app, store));
      return importing;
    },
    ui: createUiStore(),
    prefs,
    keyCaps: createKeyCaps(),
    clocks: createClocks(),
    backupFolder: createBackupFolder(),
    labStore: createLabStore(prefs),
    arriving: createArriving(),
    library,
    workspace: createStore<{ readonly workspace: ReviewWorkspace | null }>(() => ({ workspace: null })),
    chart: null,
    now: () => new Date(),
    runCommand: () => undefined,
    importFiles: async files => (await filesOfAnyKind()).importFiles(app, files),
  };
  return app;
}
