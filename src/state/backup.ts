import type { App } from './app';
import type { Desk } from './desk';
import { exportBundle, handOver } from './exporting';

/** After so many entries without a copy outside the browser, the page asks for one. */
const entriesBeforeReminder = 200;

/** Entries that the newest copy outside the browser holds, by open review. */
const copied = new WeakMap<Desk, number>();

export function noteCopied(desk: Desk, entries: number): void {
  copied.set(desk, entries);
}

/** Hands over the session as it is in memory, saved or not. */
export async function giveBundle(app: App, desk: Desk): Promise<void> {
  const entries = desk.review.get().log.entries.length;
  try {
    const files = await exportBundle(desk, 'as I see it');
    handOver(files);
    noteCopied(desk, entries);
    app.shell.say(`Handed over: ${files.map(f => f.name).join(', ')}`);
  } catch (error) {
    app.shell.notify(`The bundle could not be written: ${(error as Error).message}`);
  }
}

/** Watches every review that opens: what cannot be saved is offered as a file, and a long one is asked for now and then. */
export function watchBackups(app: App): void {
  let stop = () => {};
  app.desk.subscribe(({ desk }) => {
    stop();
    stop = desk && desk.purpose !== 'practice' ? watchReview(app, desk) : () => {};
  });
}

function watchReview(app: App, desk: Desk): () => void {
  if (!copied.has(desk)) noteCopied(desk, desk.review.get().log.entries.length);
  const give = { title: 'Hand over the bundle', run: () => void giveBundle(app, desk).then(seen) };
  let failing: number | null = null;
  let reminder: number | null = null;
  let remindedAt = copied.get(desk)!;
  const seen = () => {
    if (reminder !== null) app.shell.dismiss(reminder);
    reminder = null;
  };
  const follow = () => {
    const { saving, log } = desk.review.get();
    if (saving.failure !== null && failing === null) {
      failing = app.shell.notify(
        `Not saved: ${saving.failure} You can go on: everything stays in this tab. Ctrl S hands over a bundle that holds it all.`,
        'needs you',
        give,
      );
    } else if (saving.failure === null && failing !== null) {
      app.shell.dismiss(failing);
      failing = null;
    }
    const uncopied = log.entries.length - copied.get(desk)!;
    if (uncopied < entriesBeforeReminder || log.entries.length - remindedAt < entriesBeforeReminder) return;
    seen();
    remindedAt = log.entries.length;
    reminder = app.shell.notify(
      `${uncopied} entries since the last copy outside this browser. Ctrl S hands one over.`,
      'done',
      give,
    );
  };
  follow();
  return desk.review.subscribe(follow);
}
