import { describe, expect, test } from 'vitest';
import { markUnreadable, takeBack } from '../../../src/commands/edits';
import { editing, lookAtPage, perform } from '../../../src/commands/perform';
import { beginSettling, stretchChecked, takeRating } from '../../../src/commands/settle';
import { deleteMark } from '../../../src/core/review/edits';
import type { SampleIndex } from '../../../src/core/units';
import { openComparison } from './comparison';
import { createStatus, openWorkspace } from './workspace';

const first = 50 as SampleIndex;
const said = (app: ReturnType<typeof createStatus>) => app.ui.getState().said;

describe('the gate of a review', () => {
  test('lets an edit through, says what was done, and keeps it', () => {
    const { workspace, save } = openWorkspace();
    const app = createStatus();
    expect(perform(workspace, app, 'delete', deleteMark(editing(workspace), first), 'Removed.')).toBe(true);
    expect(said(app)).toBe('Removed.');
    expect(workspace.review.get().log.entries).toMatchObject([{ recording: 'chest-band', intent: 'delete' }]);
    expect(save).toHaveBeenCalledOnce();
  });

  test.each([
    ['reading only', { access: { writable: false, why: 'another tab has it' } }, 'another tab has it'],
  ] as const)('refuses while %s', (_what, start, why) => {
    const { workspace } = openWorkspace({}, start);
    const app = createStatus();
    expect(perform(workspace, app, 'delete', deleteMark(editing(workspace), first))).toBe(false);
    expect(said(app)).toBe(why);
    expect(takeBack(workspace, app, 'undo')).toBe(false);
    expect(markUnreadable(workspace, app)).toBe(false);
    expect(said(app)).toBe(why);
    expect(workspace.view.getState().spanStart).toBeNull();
    lookAtPage(workspace);
    expect(workspace.review.get().log.entries).toEqual([]);
  });

  test('is shut by finishing and opened again with a reason', () => {
    const { workspace } = openWorkspace();
    const app = createStatus();
    const whole = { recording: '' };
    expect(perform(workspace, app, 'finish', [], 'The review is finished.', whole)).toBe(true);
    expect(perform(workspace, app, 'delete', [])).toBe(false);
    expect(said(app)).toBe('This review is finished: reopen it to change anything.');
    lookAtPage(workspace);
    expect(perform(workspace, app, 'restart', [], 'Open.', { ...whole, reason: 'one more look' })).toBe(true);
    expect(workspace.review.get().log.entries.map(e => [e.intent, e.recording, e.reason])).toEqual([
      ['finish', '', undefined],
      ['restart', '', 'one more look'],
    ]);
  });

  test('asks the workspace last, which may add to a change or refuse it', () => {
    const { workspace } = openWorkspace();
    const app = createStatus();
    const asked: unknown[] = [];
    const built = deleteMark(editing(workspace), first);
    const refusing = {
      admit(...given: unknown[]) {
        asked.push(given);
        return { refused: 'Not in this stretch.' };
      },
    };
    expect(perform({ ...workspace, gate: refusing }, app, 'delete', built)).toBe(false);
    expect(said(app)).toBe('Not in this stretch.');
    expect(asked).toEqual([['chest-band', 'delete', built]]);
    const marking = { admit: () => [], origin: 'new' } as const;
    expect(perform({ ...workspace, gate: marking }, app, 'delete', built)).toBe(true);
    expect(workspace.review.get().log.entries).toMatchObject([{ change: [], origin: 'new' }]);
  });

  test('says nothing when a page was looked at, and notes it once', () => {
    const { workspace } = openWorkspace();
    lookAtPage(workspace);
    lookAtPage(workspace);
    expect(workspace.review.get().log.entries.map(e => e.intent)).toEqual(['look']);
    workspace.view.setState({ mmPerSecond: 1, startSeconds: 20 });
    lookAtPage(workspace);
    expect(workspace.review.get().log.entries).toHaveLength(1);
  });
});

describe('taking back', () => {
  test('goes to the recorder and place of what it undoes, and says what', () => {
    const { workspace } = openWorkspace();
    const app = createStatus();
    perform(workspace, app, 'delete', deleteMark(editing(workspace), 350 as SampleIndex));
    workspace.view.setState({ recordingId: 'adhesive-logger' });
    expect(takeBack(workspace, app, 'undo')).toBe(true);
    expect(workspace.view.getState()).toMatchObject({ recordingId: 'chest-band', caret: 350 });
    expect(said(app)).toBe('Undone: removing.');
    expect(takeBack(workspace, app, 'undo')).toBe(false);
    expect(said(app)).toBe('Nothing to undo.');
    expect(takeBack(workspace, app, 'redo')).toBe(true);
    expect(said(app)).toBe('Redone: removing.');
  });

  test('stops where settling began', () => {
    const workspace = openComparison();
    const app = createStatus();
    const before = workspace.review.get().log.entries.length;
    expect(takeBack(workspace, app, 'undo')).toBe(false);
    expect(said(app)).toBe(
      before > 0 && workspace.review.get().replayed.undoable
        ? 'Settling began here: what both raters agree on stays.'
        : 'Nothing to undo.',
    );
    expect(workspace.review.get().log.entries).toHaveLength(before);
  });
});

describe('settling', () => {
  test('takes an answer with its reason, goes on to the next, and ends', () => {
    const workspace = openComparison(2);
    const app = createStatus();
    expect(takeRating(workspace, app, 'A')).toBe(false);
    expect(said(app)).toBe('Go to a difference first.');
    workspace.comparing.store.setState({ inHand: 0 });
    expect(takeRating(workspace, app, 'B', 'no R wave there')).toBe(true);
    expect(workspace.review.get().log.entries.at(-1)).toMatchObject({
      intent: 'settle',
      origin: 'B',
      reason: 'no R wave there',
    });
    expect(said(app)).toMatch(/^Took B: no beat\. Difference 2 of 2/);
    expect(takeRating(workspace, app, 'A')).toBe(true);
    expect(said(app)).toMatch(/Every difference is settled\.$/);
  });

  test('takes no edit where both raters agree', () => {
    const workspace = openComparison();
    const app = createStatus();
    expect(perform(workspace, app, 'delete', deleteMark(editing(workspace), 1050 as SampleIndex))).toBe(false);
    expect(said(app)).toMatch(/^Both raters agree here/);
    const disputed = workspace.comparing.comparisonOf('chest-band')!.disagreements[0]!;
    const here = deleteMark(editing(workspace), disputed.at);
    expect(perform(workspace, app, 'delete', here, 'Removed.')).toBe(true);
    expect(workspace.review.get().log.entries.at(-1)).toMatchObject({ intent: 'delete', origin: 'new' });
  });

  test('is begun once, and not without leave to write', () => {
    const workspace = openComparison();
    const app = createStatus();
    const before = workspace.review.get().log.entries.length;
    expect(beginSettling(workspace, app)).toBe(true);
    expect(workspace.review.get().log.entries).toHaveLength(before);
    workspace.review.setAccess({ writable: false, why: 'settled in another tab' });
    workspace.comparing.store.setState({ inHand: 0 });
    expect(takeRating(workspace, app, 'A')).toBe(false);
    expect(said(app)).toBe('settled in another tab');
    expect(stretchChecked(workspace, app)).toBe(true);
    expect(app.ui.getState().dialog).toBe('spot check');
  });
});
