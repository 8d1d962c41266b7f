import { reviewFile } from '../../formats/bundle/review-file';
import { onWithoutDisk } from '../../storage/without-disk';
import type { App } from '../app';
import { wordsOf } from '../error-message';
import { exportBundle, handOver } from '../export/exporting';
import type { Desk } from '../review/workspace';

/** After so many entries, or so many minutes of work, without a copy outside the browser, the page asks for one. */
export const entriesBeforeReminder = 200;
export const minutesBeforeReminder = 30;

/** Entries that the newest copy outside the browser holds, by open review. */
const copied = new WeakMap<Desk, number>();
/** What looks again when a review has been copied. */
const onCopied = new WeakMap<Desk, () => void>();
/** Reviews with entries that nothing but this tab holds. */
const atRisk = new Set<string>();

export function noteCopied(desk: Desk, entries: number): void {
  copied.set(desk, entries);
  if (entries === desk.review.get().log.entries.length) atRisk.delete(nameOf(desk));
  onCopied.get(desk)?.();
}

/** Hands over the session as it is in memory, saved or not; where its signals are lost, the review alone. */
export async function giveBundle(app: App, desk: Desk): Promise<void> {
  const { log } = desk.review.get();
  try {
    const files = await exportBundle(desk, 'as I see it');
    handOver(files);
    app.shell.say(`Handed over: ${files.map(f => f.name).join(', ')}`);
  } catch (error) {
    const { name, bytes } = reviewFile(log);
    handOver([{ name, blob: new Blob([bytes as Uint8Array<ArrayBuffer>]) }]);
    app.shell.notify(
      `A bundle with the signals could not be written: ${wordsOf(error)} ${name} was handed over instead. It holds the whole review: open the recording again, then this file, to go on.`,
    );
  }
  noteCopied(desk, log.entries.length);
}

const nameOf = (desk: Desk) => {
  const { session, rater } = desk.review.get().log.header;
  return `${session}/${rater}`;
};

/** Watches every review that opens: what cannot be saved is offered as a file, and a long one is asked for now and then. */
export function watchBackups(app: App): void {
  let stop = () => {};
  app.desk.subscribe(({ desk }) => {
    stop();
    stop = desk && desk.purpose !== 'practice' && desk.purpose !== 'reading' ? watchReview(app, desk) : () => {};
  });
  onWithoutDisk(({ message, remedy }) => {
    app.shell.setState({ memoryOnly: true });
    app.shell.notify(
      `Nothing is kept: ${message} You can work as always, but all of it is gone when this tab closes. Take the bundle before that. ${remedy}`,
      'needs you',
      { title: 'Hand over the bundle', command: 'bundle.give', run: () => giveOpen(app) },
      true,
    );
  });
  window.addEventListener('beforeunload', event => {
    if (atRisk.size > 0) event.preventDefault();
  });
}

function giveOpen(app: App): void {
  const { desk } = app.desk.getState();
  if (desk) void giveBundle(app, desk);
  else app.shell.notify('Open the session whose bundle you want first.', 'done');
}

function watchReview(app: App, desk: Desk): () => void {
  // What an earlier desk of this tab left at risk still is.
  if (!copied.has(desk)) copied.set(desk, atRisk.has(nameOf(desk)) ? 0 : desk.review.get().log.entries.length);
  const reminder = reminders(app, desk);
  let failing: number | null = null;
  const follow = () => {
    const { saving, log } = desk.review.get();
    const uncopied = log.entries.length - copied.get(desk)!;
    if (uncopied > 0 && (saving.failure !== null || app.shell.getState().memoryOnly)) atRisk.add(nameOf(desk));
    else atRisk.delete(nameOf(desk));
    if (saving.failure !== null && failing === null) {
      failing = app.shell.notify(
        `Not saved: ${saving.failure} You can go on: everything stays in this tab, and a bundle can hold it all.`,
        'needs you',
        { title: 'Hand over the bundle', command: 'bundle.give', run: () => void giveBundle(app, desk) },
      );
    } else if (saving.failure === null && failing !== null) {
      app.shell.dismiss(failing);
      failing = null;
    }
    reminder.look(uncopied, log.entries.length);
  };
  follow();
  onCopied.set(desk, () => {
    reminder.answered();
    follow();
  });
  const stop = desk.review.subscribe(follow);
  return () => {
    stop();
    onCopied.delete(desk);
  };
}

/** Asks for a copy after many entries or much time, and not again before as much has come on top. */
function reminders(app: App, desk: Desk) {
  let standing: number | null = null;
  let remindedAt = copied.get(desk)!;
  // Not the clock of the day, which can be set back.
  let since = performance.now();
  const answered = () => {
    if (standing !== null) app.shell.dismiss(standing);
    standing = null;
    since = performance.now();
  };
  const give = {
    title: 'Hand over the bundle',
    command: 'bundle.give',
    run: () => void giveBundle(app, desk),
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
    standing = app.shell.notify(`${uncopied} entries since the last copy outside this browser.`, 'done', give);
  };
  return { look, answered };
}
