import type { App } from './app';
import { downloadBundle } from './backup/backup';

/** What nobody caught becomes a notice with the work in hand as a file: the page never fails in silence. */
export function watchFailures(app: App): () => void {
  const tell = (what: unknown) => {
    const { workspace } = app.workspace.getState();
    const words = what instanceof Error ? what.message : String(what);
    app.ui.notify(
      `Something went wrong: ${words} What was saved stays saved.`,
      'needs you',
      workspace ? { title: 'Hand over the bundle', run: () => void downloadBundle(app, workspace) } : null,
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
