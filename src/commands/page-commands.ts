import type { Dialog } from '../state/stores/ui-store';
import type { PageCommand } from './command';

const page = (id: string, title: string, key: string, why: string, dialog: Dialog): PageCommand => {
  const run: PageCommand['run'] = app => {
    app.ui.openDialog(dialog);
    return true;
  };
  return { id, title, group: 'Save and export', scene: 'anywhere', keys: [key], why, run };
};

/** What works on every screen. */
export const pageCommands: readonly PageCommand[] = [
  page('help.open', 'what the keys do', '?', 'a question', 'help'),
  page('check.open', 'run the self-check', '!', 'for sure', 'self-check'),
];
