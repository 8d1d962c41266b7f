import { onStoreWait, onWithoutDisk } from '../../storage/without-disk';
import type { ReviewWorkspace, WorkspaceStore } from '../review/workspace';
import type { HasUi, Notices, StatusLine, UiStore } from '../stores/ui-store';
import { atRisk, copied, nameOf, onCopied } from './copied';
import type { BackupFolder } from './folder';

/** After so many entries, or so many minutes of work, without a copy outside the browser, the page asks for one. */
export const entriesBeforeReminder = 200;
export const minutesBeforeReminder = 30;

/** What watching over copies needs of the page. */
export interface BackingUp extends HasUi<UiStore> {
  readonly backupFolder: BackupFolder;
}

interface Watched {
  readonly workspace: WorkspaceStore;
}

/** What writes bundles is there with any open review; the first page comes without it. */
export async function fetchAndDownload(app: HasUi<Notices & StatusLine>, workspace: ReviewWorkspace): Promise<void> {
  return (await import('./download-bundle')).downloadBundle(app, workspace);
}

/** Watches every review that opens: what cannot be saved is offered as a file, and a long one is asked for now and then. */
export function watchBackups(app: BackingUp & Watched): void {
  let stop = () => {};
  app.workspace.subscribe(({ workspace }) => {
    stop();
    stop =
      workspace && workspace.purpose !== 'practice' && workspace.purpose !== 'reading'
        ? watchReview(app, workspace)
        : () => {};
  });
  onWithoutDisk(({ message, remedy }) => {
    app.ui.setState({ memoryOnly: true });
    app.ui.notify(
      `Nothing is stored: ${message} You can work as usual, but everything is lost when this tab closes. Download the bundle before that. ${remedy}`,
      'needs you',
      { title: 'Download the bundle', command: 'bundle.give', run: () => giveOpen(app) },
      true,
    );
  });
  let waiting: number | null = null;
  onStoreWait(wait => {
    if (wait) {
      const giveUp = { title: 'Work in this tab only', run: wait.giveUp };
      waiting = app.ui.notify(storeIsLate, 'needs you', giveUp, true);
    } else if (waiting !== null) app.ui.dismiss(waiting);
  });
  window.addEventListener('beforeunload', event => {
    if (atRisk.size > 0) event.preventDefault();
  });
}

const storeIsLate =
  'Waiting for the store of this page: another tab holds it, or this machine is busy. Close the other tabs of this page, or wait. In this tab only, nothing is stored.';

function giveOpen(app: HasUi<Notices & StatusLine> & Watched): void {
  const { workspace } = app.workspace.getState();
  if (workspace) void fetchAndDownload(app, workspace);
  else app.ui.notify('Open the session whose bundle you want first.', 'done');
}

function watchReview(app: BackingUp, workspace: ReviewWorkspace): () => void {
  // What an earlier workspace of this tab left at risk still is.
  if (!copied.has(workspace))
    copied.set(workspace, atRisk.has(nameOf(workspace)) ? 0 : workspace.review.get().log.entries.length);
  const reminder = reminders(app, workspace);
  let failing: number | null = null;
  const follow = () => {
    const { saving, log } = workspace.review.get();
    const uncopied = log.entries.length - copied.get(workspace)!;
    if (uncopied > 0 && (saving.failure !== null || app.ui.getState().memoryOnly)) atRisk.add(nameOf(workspace));
    else atRisk.delete(nameOf(workspace));
    if (saving.failure !== null && failing === null) {
      failing = app.ui.notify(
        `Not saved: ${saving.failure} You can continue: everything stays in this tab, and you can download it as a bundle.`,
        'needs you',
        { title: 'Download the bundle', command: 'bundle.give', run: () => void fetchAndDownload(app, workspace) },
      );
    } else if (saving.failure === null && failing !== null) {
      app.ui.dismiss(failing);
      failing = null;
    }
    reminder.look(uncopied, log.entries.length);
  };
  follow();
  onCopied.set(workspace, () => {
    reminder.answered();
    follow();
  });
  const stop = workspace.review.subscribe(follow);
  return () => {
    stop();
    onCopied.delete(workspace);
  };
}

/** Asks for a copy after many entries or much time, and not again before as much has come on top. */
function reminders(app: BackingUp, workspace: ReviewWorkspace) {
  let standing: number | null = null;
  let remindedAt = copied.get(workspace)!;
  // Not the clock of the day, which can be set back.
  let since = performance.now();
  const answered = () => {
    if (standing !== null) app.ui.dismiss(standing);
    standing = null;
    since = performance.now();
  };
  const give = {
    title: 'Download the bundle',
    command: 'bundle.give',
    run: () => void fetchAndDownload(app, workspace),
  };
  const look = (uncopied: number, entries: number) => {
    if (uncopied === 0 || app.backupFolder.directory()) {
      since = performance.now();
      return;
    }
    const long = performance.now() - since >= minutesBeforeReminder * 60_000;
    const many = uncopied >= entriesBeforeReminder && entries - remindedAt >= entriesBeforeReminder;
    if (!long && !many) return;
    answered();
    remindedAt = entries;
    standing = app.ui.notify(`${uncopied} entries since the last copy outside this browser.`, 'done', give);
  };
  return { look, answered };
}
