import { isOpenSomewhere } from '../../storage/locks';
import { errorMessage } from '../error-message';
import type { HasLibrary } from '../library';
import type { HasUi, Notices } from '../stores/ui-store';

/** Removes a session with all its reviews; one that somebody works on in another tab stays, and that is reported. */
export async function removeUnlessOpen(
  { library, ui }: HasLibrary & HasUi<Notices>,
  session: { readonly id: string; readonly title: string },
): Promise<void> {
  if (await isOpenSomewhere(session.id)) {
    ui.notify(`${session.title} is open in another tab and was not removed. Close it there first.`);
    return;
  }
  await library.removeSession(session.id).catch((error: unknown) => ui.notify(errorMessage(error)));
}
