import { amount } from '../../core/amount';
import { whyNotOf } from '../../formats/bundle/logs';
import { readReviewFile } from '../../formats/bundle/review-file';
import { salvageLogs } from '../../formats/bundle/salvage';
import { fileSource } from '../../formats/bytes/source';
import { errorMessage } from '../error-message';
import { type Merging, mergeBundle } from './merging';

/**
 * Takes in a review that comes without its session, which has to be here. What is stored is never rewritten: a review goes
 * on or is added. Answers the session's id.
 */
export async function importReviewFile(app: Merging, file: File): Promise<string> {
  const { log, wrong } = readReviewFile(file.name, await file.text());
  await mergeReview(app, file.name, log);
  if (wrong !== null) {
    app.ui.notify(
      `${file.name}: what follows entry ${log.entries.length} is damaged and was left out (${wrong}). The ${log.entries.length} entries before it are intact.`,
    );
  }
  return log.header.session;
}

type Log = ReturnType<typeof readReviewFile>['log'];

async function mergeReview(app: Merging, fileName: string, log: Log): Promise<void> {
  const { rater, session: id } = log.header;
  const session = await app.library.session(id);
  if (!session) {
    throw new Error(
      `${fileName} holds the review of ${rater}, without the recording. Open the session ${id} first, from its bundle or its files, then this file again.`,
    );
  }
  const whyNot = whyNotOf(log, session);
  if (whyNot !== null) throw new Error(`${fileName} was not imported: ${whyNot}.`);
  await mergeBundle(app, fileName, { reviewed: { session, logs: [log] }, signalChecksums: {} }, session);
}

/** Says why a bundle cannot be opened and, when it was cut off, offers the reviews in it that are whole. */
export async function offerIntactReviews(app: Merging, file: File, error: unknown): Promise<void> {
  const whole = await salvageLogs(fileSource(file)).catch(() => []);
  if (whole.length === 0) {
    app.ui.notify(errorMessage(error));
    return;
  }
  const named = whole
    .map(({ log }) => `${log.header.rater} (${amount(log.entries.length, 'entry', 'entries')})`)
    .join(', ');
  const take = async () => {
    for (const { log } of whole) {
      await mergeReview(app, file.name, log).catch((problem: unknown) => app.ui.notify(errorMessage(problem)));
    }
  };
  app.ui.notify(`${errorMessage(error)} Intact: the review of ${named}, without the recording.`, 'needs you', {
    title: 'Import the intact reviews',
    run: () => void take(),
  });
}
