import { afterEach, beforeEach, expect, test, vi } from 'vitest';
import { listen } from '../../../src/commands/listener';
import { whyNotInLesson } from '../../../src/commands/not-in-lesson';
import { sceneOf } from '../../../src/commands/scene-now';
import { allCommands, commandsOf } from '../../../src/commands/scenes';
import type { ReviewWorkspace } from '../../../src/state/review/workspace';
import { createPage } from '../state/page';
import { openWorkspace } from './workspace';

const lesson = (more: Partial<ReviewWorkspace> = {}): ReviewWorkspace => ({
  ...openWorkspace().workspace,
  purpose: 'practice',
  ...more,
});
const sampled = { givenSample: {} as NonNullable<ReviewWorkspace['givenSample']> };

let page: ReturnType<typeof createPage>;
let stop: () => void;

beforeEach(() => {
  vi.stubGlobal('window', new EventTarget());
  vi.stubGlobal('Element', class {});
  page = createPage();
  stop = listen(
    page,
    () => allCommands,
    () => sceneOf(page),
  );
});

afterEach(() => {
  stop();
  vi.unstubAllGlobals();
});

const idsIn = (workspace: ReviewWorkspace) => {
  page.workspace.setState({ workspace });
  return commandsOf(page).map(c => c.id);
};

test.each([
  ['place.next', 'A lesson points out no suspicious places: finding them is the task.'],
  ['suspicion.take', 'A lesson points out no suspicious places: finding them is the task.'],
  ['notSinus.next', 'A lesson proposes no beats as not sinus.'],
  ['recorder.other', 'A lesson has one recorder.'],
  ['sample.next', 'This lesson is not sampled: look at all of it.'],
  ['bundle.give', 'A lesson has no session bundle: finish it and save its results file.'],
])('the key of %s says in a lesson that it is not for lessons, and changes nothing', (id, words) => {
  const workspace = lesson();
  page.workspace.setState({ workspace });
  const before = workspace.view.getState();
  page.runCommand(id);
  expect(page.ui.getState()).toMatchObject({ said: words, dialog: null });
  expect(workspace.view.getState()).toEqual(before);
  expect(workspace.review.get().log.entries).toEqual([]);
});

test('the sheet of keys has in a lesson what does something there, and everything else in a review', () => {
  const inReview = idsIn(openWorkspace().workspace);
  const inLesson = idsIn(lesson());
  expect(inReview).toEqual(expect.arrayContaining(['place.next', 'notSinus.next', 'sample.next', 'recorder.both']));
  expect(inLesson).toEqual(expect.arrayContaining(['mark.remove', 'mark.insert', 'practice.hint', 'help.open']));
  const groups = new Set(allCommands.filter(c => inLesson.includes(c.id)).map(c => c.group));
  expect(groups).not.toContain('Suspicious places');
  expect(groups).not.toContain('Sample');
  expect(inLesson.filter(id => /^(notSinus|recorder|clock|bundle)\./.test(id))).toEqual([]);
});

test('a sampled lesson has the keys of a sample', () => {
  expect(idsIn(lesson(sampled))).toEqual(expect.arrayContaining(['sample.next', 'sample.skip', 'sample.leave']));
});

test('outside a lesson every command is there', () => {
  const { workspace } = openWorkspace();
  expect(allCommands.filter(c => whyNotInLesson(c, workspace) !== null)).toEqual([]);
});
