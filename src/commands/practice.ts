import { hintChange, hintStep, hintSteps, pointsFor } from '../core/review/practice/practice';
import type { Span } from '../core/units';
import type { HasLibrary } from '../state/library';
import { hintShown, hintWords } from '../state/practice/hints';
import { doneAccess, isLesson, type LessonWorkspace, showFeedbackPlaces } from '../state/practice/practice';
import { saveDone } from '../state/practice/progress';
import type { ReviewWorkspace } from '../state/review/workspace';
import { active, clampStart, putCaret } from '../state/review/workspace';
import type { HasUi, StatusLine, UiParts } from '../state/stores/ui-store';
import { rowSeconds } from '../state/stores/view-store';
import type { CommandContext, ReviewCommand } from './command';
import type { Recorders } from './display';
import { stepOccurrence } from './navigate';
import { perform, refuse } from './perform';
import { leaveSample } from './sampling';

/** What a lesson adds to a review: hints, being done, and the walk through the answers afterwards. */

const working = (workspace: ReviewWorkspace) => isLesson(workspace) && !workspace.practice.done();
const hinting = (workspace: ReviewWorkspace) => working(workspace) && workspace.givenSample === undefined;
const graded = (workspace: ReviewWorkspace) => isLesson(workspace) && workspace.practice.done();

/** What each condition asks for, in words. */
const needs: ReadonlyMap<NonNullable<ReviewCommand['when']>, string> = new Map([
  [working, 'This lesson is done.'],
  [hinting, 'No hints here: the lesson is sampled, or done.'],
  [graded, 'The answers are shown once the lesson is done.'],
]);

type InLesson = (workspace: LessonWorkspace, app: CommandContext) => boolean;

const inLesson =
  (run: InLesson): ReviewCommand['run'] =>
  (workspace, app) =>
    isLesson(workspace) && run(workspace, app);

/** Says step by step where to look and leaves the finding to the learner; asking again after the last is free. */
function takeHint(workspace: LessonWorkspace, app: HasUi<StatusLine>): boolean {
  const { practice } = workspace;
  const { review, caret, item } = active(workspace);
  const { access } = workspace.review.get();
  if (!access.writable) return refuse(app, access.why ?? '');
  const place = practice.nextHint(caret);
  if (!place) return refuse(app, 'No place is left that a hint could show.');
  const change = hintChange(review, place);
  if (change && !perform(workspace, app, 'hint', change, '', { recording: item.recording.id })) return false;
  const shown = hintShown(practice.lesson, place, hintStep(active(workspace).review, place))!;
  showWhole(workspace, shown.span);
  putCaret(workspace, shown.span.start, true);
  app.ui.status(`${sentence(hintWords(shown))}${change ? ` (−${-pointsFor.hint / hintSteps} point)` : ''}`);
  return true;
}

const sentence = (words: string) => words.charAt(0).toUpperCase() + words.slice(1);

/** Puts a place into the first row, always at the same part of it, so that the eye need not search. */
function showWhole(workspace: LessonWorkspace, { start, end }: Span): void {
  const view = workspace.view.getState();
  const { rateHz } = active(workspace);
  const row = rowSeconds(view, view.geometry);
  const centred = (start + end) / 2 / rateHz - row * 0.45;
  workspace.view.setState({ startSeconds: clampStart(workspace, Math.min(centred, start / rateHz - row * 0.05)) });
}

/** On to the next place of the answers, or back. */
function walkAnswers(workspace: LessonWorkspace, app: Recorders, direction: 1 | -1): boolean {
  const items = workspace.practice.feedback();
  const item = items[workspace.occurrences.getState().at + direction];
  const moved = stepOccurrence(workspace, app, direction);
  if (item) showWhole(workspace, item.span);
  return moved;
}

/** Ends the lesson: the log takes no more edits, the grade is kept, and the walk through the places begins. */
export function finishLesson(workspace: LessonWorkspace, app: HasLibrary & HasUi<UiParts>): void {
  const { practice } = workspace;
  if (!perform(workspace, app, 'finish', [], '', { recording: '' })) return;
  workspace.review.setAccess(doneAccess);
  leaveSample(workspace);
  showFeedbackPlaces(workspace, practice);
  app.ui.sheetDone();
  app.ui.status('');
  void workspace.review
    .settled()
    .then(() => saveDone(app, practice, workspace.review.get().log))
    .then(counts => {
      if (!counts) app.ui.notify('Done before with this seed: your progress keeps the first time.', 'done');
    })
    .catch((error: Error) => app.ui.notify(error.message));
}

const row = (id: string, title: string, key: string, why: string, when: ReviewCommand['when'], run: InLesson) => {
  return {
    id,
    title,
    group: 'Practice',
    scene: 'practice',
    keys: [key],
    why,
    run: inLesson(run),
    ...(when ? { when, needs: needs.get(when)! } : {}),
  } as const;
};

export const practiceCommands: readonly ReviewCommand[] = [
  row('practice.hint', 'hint: where to look, for some points', 'h', 'h for hint', hinting, takeHint),
  row('practice.done', 'done: grade this lesson', 'd', 'd for done', working, (_workspace, app) => {
    app.ui.openDialog('finish');
    return true;
  }),
  row('practice.next', 'next place of the answers', 'p', 'p for place', graded, (d, a) => walkAnswers(d, a, 1)),
  row('practice.previous', 'previous place of the answers', 'Shift+p', 'Shift goes back', graded, (d, a) =>
    walkAnswers(d, a, -1),
  ),
];
