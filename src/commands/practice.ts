import { hintChange, pointsFor } from '../core/review/practice';
import type { Span } from '../core/units';
import type { App } from '../state/app';
import { featureWords } from '../state/practice/feedback';
import { doneAccess, type Practice, startFeedbackWalk } from '../state/practice/practice';
import { keepDone } from '../state/practice/progress';
import { active, clampStart, type Desk, putCaret } from '../state/review/workspace';
import { rowSeconds } from '../state/stores/view-store';
import type { Command } from './command';
import { walkPlaces } from './navigate';
import { refuse } from './perform';

/** What a lesson adds to a review: hints, being done, and the walk through the answers afterwards. */

const working = (desk: Desk) => desk.practice !== undefined && !desk.practice.done();
const graded = (desk: Desk) => desk.practice?.done() ?? false;

/** Says where to look and leaves the finding to the learner; asking again about the same place is free. */
function takeHint(desk: Desk, app: App): boolean {
  const { practice } = desk;
  if (!practice) return false;
  const { review, caret, item } = active(desk);
  const { access } = desk.review.get();
  if (!access.writable) return refuse(app, access.why ?? '');
  const place = practice.nextHint(caret);
  if (!place) return refuse(app, 'No place is left that a hint could show.');
  const change = hintChange(review, place);
  // 'look' is passed over by undo: a hint once taken stays paid for.
  if (change) desk.review.act({ recording: item.recording.id, intent: 'look', change });
  showWhole(desk, place.span);
  putCaret(desk, place.span.start, true);
  app.shell.say(`Hint: ${featureWords[place.feature]}${change ? ` (−${-pointsFor.hint} points)` : ''}`);
  return true;
}

/** Puts a place into the first row, always at the same part of it, so that the eye need not search. */
function showWhole(desk: Desk, { start, end }: Span): void {
  const view = desk.view.getState();
  const { rateHz } = active(desk);
  const rowSec = rowSeconds(view, view.geometry);
  const centred = (start + end) / 2 / rateHz - rowSec * 0.45;
  desk.view.setState({ startSec: clampStart(desk, Math.min(centred, start / rateHz - rowSec * 0.05)) });
}

/** On to the next place of the answers, or back. */
function walkAnswers(desk: Desk, app: App, direction: 1 | -1): boolean {
  const items = desk.practice?.feedback() ?? [];
  const item = items[desk.walk.getState().at + direction];
  const moved = walkPlaces(desk, app, direction);
  if (item) showWhole(desk, item.span);
  return moved;
}

/** Ends the lesson: the log takes no more edits, the grade is kept, and the walk through the places begins. */
export function finishLesson(desk: Desk, app: App, practice: Practice): void {
  if (!desk.review.act({ recording: '', intent: 'finish', change: [] })) return;
  desk.review.setAccess(doneAccess);
  startFeedbackWalk(desk, practice);
  app.shell.openDialog(null);
  app.shell.say('');
  void desk.review
    .settled()
    .then(() => keepDone(app, practice, desk.review.get().log))
    .then(counts => {
      if (!counts) app.shell.notify('Done before with this seed: your progress keeps the first time.', 'done');
    })
    .catch((error: Error) => app.shell.notify(error.message));
}

const row = (id: string, title: string, key: string, why: string, when: Command['when'], run: Command['run']) => {
  return { id, title, group: 'Practice', scene: 'practice', keys: [key], why, run, ...(when ? { when } : {}) } as const;
};

export const practiceCommands: readonly Command[] = [
  row('practice.hint', 'hint: where to look, for some points', 'h', 'h for hint', working, takeHint),
  row('practice.done', 'done: grade this lesson', 'd', 'd for done', working, (_desk, app) => {
    app.shell.openDialog('finish');
    return true;
  }),
  row('practice.next', 'next place of the answers', 'p', 'p for place', graded, (d, a) => walkAnswers(d, a, 1)),
  row('practice.previous', 'place before in the answers', 'Shift+p', 'Shift goes back', graded, (d, a) =>
    walkAnswers(d, a, -1),
  ),
];
