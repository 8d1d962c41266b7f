import type { PrefsStore } from './stores/prefs-store';
import type { HasUi, Notices } from './stores/ui-store';

/** How long the page stays empty for what a person likes. */
const patienceMs = 2000;

const late =
  'The preferences kept in this browser have not come yet: the page works with the usual ones until they do. ' +
  'If this stays, close the other tabs of Beat Ledger and reload this page.';

/**
 * Loads the preferences, for the first page to be drawn as this person likes it. A browser whose store hangs does not keep the
 * page empty: after a while it is drawn without them, which is said until they come.
 */
export async function prefsInTime(app: HasUi<Notices> & { readonly prefs: Pick<PrefsStore, 'load'> }): Promise<void> {
  const loaded = app.prefs.load();
  let timer: ReturnType<typeof setTimeout> | undefined;
  const outwaited = new Promise<void>(resolve => {
    timer = setTimeout(() => {
      const notice = app.ui.notify(late, 'needs you', null, true);
      void loaded.then(() => app.ui.dismiss(notice));
      resolve();
    }, patienceMs);
  });
  await Promise.race([loaded, outwaited]);
  clearTimeout(timer);
}
