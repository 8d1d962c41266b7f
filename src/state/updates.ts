import type { WorkspaceStore } from './review/workspace';
import type { HasUi, Notices } from './stores/ui-store';

type Page = HasUi<Notices> & { readonly workspace: WorkspaceStore };

/**
 * The page's service worker: it keeps the page for use without a network, and fetches a newer page beside the running
 * one. The newer one waits until the person takes it; nothing reloads by itself, in this tab or another.
 */
export function watchUpdates(app: Page): void {
  if (!import.meta.env.PROD || !('serviceWorker' in navigator)) return;
  const { serviceWorker } = navigator;
  const hadController = serviceWorker.controller !== null;
  let updating = false;
  serviceWorker.addEventListener('controllerchange', () => {
    if (updating) location.reload();
    // The first worker of all takes over a page it equals; a later one was let in by another tab.
    else if (hadController) offerReload(app);
  });
  const offer = (worker: ServiceWorker) => {
    app.ui.notify('A newer version of this page is ready.', 'done', {
      title: 'Update now',
      run: () => {
        updating = true;
        void leaveTidily(app).then(() => worker.postMessage({ type: 'SKIP_WAITING' }));
      },
    });
  };
  serviceWorker
    .register('./sw.js')
    .then(registration => {
      if (registration.waiting && serviceWorker.controller) offer(registration.waiting);
      registration.addEventListener('updatefound', () => {
        const worker = registration.installing;
        worker?.addEventListener('statechange', () => {
          if (worker.state === 'installed' && serviceWorker.controller) offer(worker);
        });
      });
    })
    // Private windows and plain http refuse service workers: the page works as it is, with a network.
    .catch(() => undefined);
}

function offerReload(app: Page): void {
  app.ui.notify('Another tab updated this page. Reload this tab when convenient.', 'done', {
    title: 'Reload now',
    run: () => void leaveTidily(app).then(() => location.reload()),
  });
}

/** Everything typed so far is on disk, or has failed and said so, before the page goes. */
async function leaveTidily(app: Page): Promise<void> {
  await app.workspace.getState().workspace?.review.settled();
}
