import { reviewFile } from '../../formats/bundle/review-file';
import { errorMessage } from '../error-message';
import { download, exportBundle } from '../export/exporting';
import type { ReviewWorkspace } from '../review/workspace';
import type { HasUi, Notices, StatusLine } from '../stores/ui-store';
import { noteCopied } from './copied';

/** Downloads the session as it is in memory, saved or not; where its signals are lost, the review alone. */
export async function downloadBundle(app: HasUi<Notices & StatusLine>, workspace: ReviewWorkspace): Promise<void> {
  const { log } = workspace.review.get();
  try {
    const files = await exportBundle(workspace, 'as I see it');
    download(files);
    app.ui.status(`Downloaded: ${files.map(f => f.name).join(', ')}`);
  } catch (error) {
    const { name, bytes } = reviewFile(log);
    download([{ name, blob: new Blob([bytes as Uint8Array<ArrayBuffer>]) }]);
    app.ui.notify(
      `A bundle with the signals could not be written: ${errorMessage(error)} ${name} was downloaded instead. It holds the whole review: open the recording again, then this file, to go on.`,
    );
  }
  noteCopied(workspace, log.entries.length);
}
