import type { BackupDirectory } from '../../storage/backup-directory';
import { errorMessage } from '../error-message';
import type { ReviewWorkspace, WorkspaceStore } from '../review/workspace';
import type { BackingUp } from './backup';
import { noteCopied } from './copied';
import type { Copies } from './copies';

/**
 * Between two copies of a review that is being worked on: at least this, longer where copying takes long, and never so long
 * that much work is without a copy. The first takes longest, as the signals go along.
 */
const pauseMs = 2000;
const pauseTimes = 20;
const longestPauseMs = 15_000;

/** Copies the review that is open to the backup folder, a moment after each change. Never stands in the way of the work. */
export function watchFolder(app: Copying): void {
  let copier: Copier | null = null;
  const follow = () => {
    copier?.stop();
    const { workspace } = app.workspace.getState();
    app.backupFolder.report({ copiedEntries: null });
    copier =
      workspace && (workspace.purpose === 'review' || workspace.purpose === 'settle')
        ? createCopier(app, workspace)
        : null;
  };
  follow();
  app.workspace.subscribe(follow);
  document.addEventListener('visibilitychange', () => document.hidden && copier?.now());
  let notice: number | null = null;
  app.backupFolder.store.subscribe(({ access, name }, before) => {
    if (access === 'open' && before.access !== 'open') copier?.now();
    if (access === 'asks') {
      notice ??= app.ui.notify(
        `Copies to the folder ${name} have stopped: the browser needs your permission again.`,
        'needs you',
        { title: 'Resume copying', run: () => void app.backupFolder.allow() },
      );
    } else if (notice !== null) {
      app.ui.dismiss(notice);
      notice = null;
    }
  });
  void app.backupFolder.load();
}

type Copying = BackingUp & { readonly workspace: WorkspaceStore };

interface Copier {
  now(): void;
  stop(): void;
}

function createCopier(app: Copying, workspace: ReviewWorkspace): Copier {
  const write = createWriter(app, workspace);
  let timer: ReturnType<typeof setTimeout> | undefined;
  let running: Promise<void> | null = null;
  let pause = pauseMs;
  const now = () => {
    clearTimeout(timer);
    timer = undefined;
    running ??= run().finally(() => {
      running = null;
      if (write.behind()) soon();
    });
  };
  const run = async () => {
    const begun = performance.now();
    await write.all();
    pause = Math.min(longestPauseMs, Math.max(pauseMs, pauseTimes * (performance.now() - begun)));
  };
  const soon = () => {
    timer ??= setTimeout(now, pause);
  };
  const stopFollowing = workspace.review.subscribe((state, before) => {
    if (state.replayed.finished && !before.replayed.finished) now();
    else if (write.behind()) soon();
  });
  now();
  return {
    now,
    stop() {
      stopFollowing();
      clearTimeout(timer);
      // What came last goes along; the review stays readable after its workspace is closed.
      if (write.behind()) void (running ?? Promise.resolve()).then(write.all);
    },
  };
}

function createWriter(app: Copying, workspace: ReviewWorkspace) {
  let directory: BackupDirectory | null = null;
  let copies: Copies | null = null;
  let entries = 0;
  let session: unknown = null;
  let failedAt = -1;
  const { backupFolder: folder } = app;
  const behind = () => {
    const { log, access, session: current } = workspace.review.get();
    if (!folder.directory() || !access.writable || log.entries.length === 0) return false;
    // After a failure the next edit tries again, not the clock.
    return log.entries.length !== failedAt && (log.entries.length !== entries || current !== session);
  };
  const all = async () => {
    const now = folder.directory();
    const state = workspace.review.get();
    try {
      if (!now || now !== directory) {
        // Never on to the folder before, should the code not be there to be fetched.
        [copies, directory, entries, session] = [null, null, 0, null];
        copies = now && (await import('./copies')).copiesIn(now);
        directory = now;
      }
      if (!copies || !behind()) return;
      // The review first: it is small, and it is what cannot be had again.
      await copies.review(state.log);
      entries = state.log.entries.length;
      noteCopied(workspace, entries);
      if (app.workspace.getState().workspace === workspace) folder.report({ copiedEntries: entries });
      if (state.session !== session) await copies.session(state.session);
      session = state.session;
      failedAt = -1;
      folder.report({ problem: null });
    } catch (error) {
      failedAt = state.log.entries.length;
      fail(app, error);
    }
  };
  return { all, behind };
}

function fail(app: Copying, error: unknown): void {
  const { name } = app.backupFolder.store.getState();
  const kind = (error as Error).name;
  if (kind === 'NotAllowedError') {
    app.backupFolder.closed();
    return;
  }
  const why =
    kind === 'NotFoundError'
      ? 'it no longer exists. Choose it again, or another one, on the start page.'
      : kind === 'QuotaExceededError'
        ? 'there is no room left. Make room, or choose another folder on the start page.'
        : errorMessage(error);
  const problem = `The copy to the folder ${name} could not be written: ${why}`;
  app.backupFolder.report({ problem });
  app.ui.notify(`${problem} Your work here continues and is saved as usual.`);
}
