import { fetchAndDownload } from './backup/backup';
import type { WorkspaceStore } from './review/workspace';
import type { HasUi, Notices, StatusLine } from './stores/ui-store';

/** What nobody caught becomes a notice with the current work as a file: the page never fails in silence. */
export function watchFailures(app: HasUi<Notices & StatusLine> & { readonly workspace: WorkspaceStore }): () => void {
  const tell = (what: unknown) => {
    const { workspace } = app.workspace.getState();
    const words = what instanceof Error ? what.message : String(what);
    app.ui.notify(
      `Something went wrong: ${words} What was saved stays saved.`,
      'needs you',
      workspace ? { title: 'Download the bundle', run: () => void fetchAndDownload(app, workspace) } : null,
    );
  };
  const onError = (event: ErrorEvent) => {
    // Notes of the browser without an error behind them, such as a resize observer that was late, need nobody.
    if (event.error) tell(event.error);
  };
  const onRejection = (event: PromiseRejectionEvent) => tell(event.reason);
  window.addEventListener('error', onError);
  window.addEventListener('unhandledrejection', onRejection);
  return () => {
    window.removeEventListener('error', onError);
    window.removeEventListener('unhandledrejection', onRejection);
  };
}
