import { describe, expect, test } from 'vitest';
import type { CommandContext } from '../../../src/commands/command';
import { acceptPage, takeBack } from '../../../src/commands/edits';
import { reviewCommands } from '../../../src/commands/list';
import { lookAtPage } from '../../../src/commands/perform';
import { acceptAndTurn } from '../../../src/commands/places';
import { signOffOffered } from '../../../src/commands/sign-off';
import { segmentsUnderReview } from '../../../src/core/review/standing/coverage';
import { putCaret, type ReviewWorkspace } from '../../../src/state/review/workspace';
import { createStatus, openWorkspace } from './workspace';

/** A review at a scale at which one page shows all of the first segment. */
function opened() {
  const { workspace } = openWorkspace();
  const app = { ...createStatus(), chart: null } as unknown as CommandContext & ReturnType<typeof createStatus>;
  const [first, second] = segmentsUnderReview(workspace.review.get().session.recordings[0]!);
  return { workspace, app, first: first!, second };
}

const said = (app: { ui: { getState(): { said: string } } }) => app.ui.getState().said;
const signed = (workspace: ReviewWorkspace) =>
  workspace.review
    .get()
    .replayed.recordings.get('chest-band')!
    .signOffs.map(s => s.segment);

/** Accepts page after page until the first segment is complete. */
function complete(workspace: ReviewWorkspace, app: CommandContext, name: string): void {
  workspace.view.setState({ startSeconds: 0 });
  putCaret(workspace, 0, true);
  for (let i = 0; i < 60 && workspace.view.getState().signOffOffer?.segment !== name; i++)
    acceptAndTurn(workspace, app);
}

describe('the sign-off of a segment', () => {
  test('is offered and announced when all of it was looked at, and takes one key wherever the caret is by then', () => {
    const { workspace, app, first } = opened();
    expect(signOffOffered(workspace, app)).toBe(false);
    complete(workspace, app, first.name);
    expect(said(app)).toBe(`${first.name} has been looked at in full: it can be signed off.`);
    workspace.view.setState({ caret: Math.min(first.end + 10, 1e9) as never });
    const key = reviewCommands.find(c => c.id === 'segment.signOff')!;
    expect(key.run(workspace, app)).toBe(true);
    expect(signed(workspace)).toEqual([first.name]);
    expect(app.ui.getState().dialog).toBeNull();
    expect(workspace.view.getState().signOffOffer).toBeNull();
    // With nothing offered, the key asks about the segment of the caret.
    key.run(workspace, app);
    expect(app.ui.getState().dialog).toBe('sign off');
    expect(signed(workspace)).toEqual([first.name]);
  });

  test('is no longer offered when something in it was taken back', () => {
    const { workspace, app, first } = opened();
    complete(workspace, app, first.name);
    expect(takeBack(workspace, app, 'undo')).toBe(true);
    expect(workspace.view.getState().signOffOffer).toBeNull();
    expect(signOffOffered(workspace, app)).toBe(false);
  });

  test('is announced also where only the last look was missing', () => {
    const { workspace, app, first } = opened();
    workspace.view.setState({ mmPerSecond: 10, startSeconds: 0 });
    acceptPage(workspace, app);
    complete(workspace, app, first.name);
    expect(workspace.view.getState().signOffOffer).toEqual({ recordingId: 'chest-band', segment: first.name });
    expect(lookAtPage(workspace)).toBeNull();
  });

  test('is of no other recorder than the current one', () => {
    const { workspace, app, first } = opened();
    complete(workspace, app, first.name);
    workspace.view.setState({ recordingId: 'adhesive-logger' });
    expect(signOffOffered(workspace, app)).toBe(false);
    expect(signed(workspace)).toEqual([]);
  });
});
