import { describe, expect, test } from 'vitest';
import { changeRows, fitRows, secondsAt, usualSpeed, zoom, zoomTo } from '../../../src/commands/display';
import { newLog } from '../../../src/core/marks/log';
import { logHeader } from '../../../src/core/review/session';
import { cssPxPerMm } from '../../../src/core/units';
import type { App } from '../../../src/state/app';
import { createReviewStore } from '../../../src/state/review/review-store';
import type { ReviewWorkspace } from '../../../src/state/review/workspace';
import { createViewStore, pageSeconds } from '../../../src/state/stores/view-store';
import { session } from '../../browser/two-raters';

const widthPx = 25 * 10 * cssPxPerMm;
const app = { ui: { status: () => undefined } } as unknown as App;

/** A workspace whose rows show ten seconds each, three of them fitting; the caret stands in the second row, at 15 s. */
function workspaceOfThreeRows(): ReviewWorkspace {
  const log = newLog(logHeader(session, 'R1'));
  const review = createReviewStore(
    { session, log, others: [], access: { writable: true, why: null } },
    async () => undefined,
    () => new Date(0),
  );
  const view = createViewStore();
  const workspace = { review, view } as unknown as ReviewWorkspace;
  view.setState({ recordingId: 'band' });
  fitRows(workspace, { widthPx, rowsThatFit: 3 });
  view.setState({ caret: (15 * 250) as never });
  return workspace;
}

const shown = (workspace: ReviewWorkspace) => {
  const { rows, startSeconds } = workspace.view.getState();
  return [rows, Math.round(startSeconds * 1000) / 1000];
};

describe('rows of the page', () => {
  test('are as many as fit, up to three, when a session is opened for the first time', () => {
    const workspace = workspaceOfThreeRows();
    expect(shown(workspace)).toEqual([3, 0]);
  });

  test('become fewer where more traces would make them too low to read, and come back', () => {
    const workspace = workspaceOfThreeRows();
    fitRows(workspace, { widthPx, rowsThatFit: 1 });
    // The row that is left is the one of the caret.
    expect(shown(workspace)).toEqual([1, 10]);
    fitRows(workspace, { widthPx, rowsThatFit: 3 });
    expect(shown(workspace)).toEqual([3, 10]);
  });

  test('follow the key, which keeps the caret in sight', () => {
    const workspace = workspaceOfThreeRows();
    changeRows(workspace, app);
    expect(shown(workspace)).toEqual([1, 10]);
    fitRows(workspace, { widthPx, rowsThatFit: 2 });
    expect(shown(workspace)).toEqual([1, 10]);
    changeRows(workspace, app);
    expect(shown(workspace)[0]).toBe(2);
  });

  test('a restored number stays as it was', () => {
    const workspace = workspaceOfThreeRows();
    const view = createViewStore();
    view.setState({ recordingId: 'band', rows: 2 });
    fitRows({ ...workspace, view }, { widthPx, rowsThatFit: 4 });
    expect(view.getState().rows).toBe(2);
  });
});

describe('where one row fits only', () => {
  test('a number that was restored from a larger window is lowered, and comes back', () => {
    const workspace = workspaceOfThreeRows();
    const view = createViewStore();
    view.setState({ recordingId: 'band', rows: 3 });
    const restored = { ...workspace, view };
    fitRows(restored, { widthPx, rowsThatFit: 1 });
    expect(view.getState().rows).toBe(1);
    fitRows(restored, { widthPx, rowsThatFit: 3 });
    expect(view.getState().rows).toBe(3);
  });

  test('the key says so instead of laying one row over the other', () => {
    const workspace = workspaceOfThreeRows();
    fitRows(workspace, { widthPx, rowsThatFit: 1 });
    let said = '';
    const saying = { ui: { status: (words: string) => (said = words) } } as unknown as App;
    expect(changeRows(workspace, saying)).toBe(false);
    expect(shown(workspace)[0]).toBe(1);
    expect(said).toMatch(/^Only one row fits/);
  });
});

describe('zooming out', () => {
  const seconds = (workspace: ReviewWorkspace) => {
    const view = workspace.view.getState();
    return pageSeconds(view, view.geometry);
  };

  test('ends with the recording, and comes back to the paper speeds', () => {
    const workspace = workspaceOfThreeRows();
    for (let i = 0; i < 20; i++) zoom(workspace, app, -1);
    // The recording has 120 s.
    expect(seconds(workspace)).toBeCloseTo(120, 6);
    expect(workspace.view.getState().startSeconds).toBe(0);
    expect(zoom(workspace, app, -1)).toBe(false);
    // Three rows of 250 mm in 120 s are 6.25 mm/s.
    expect(workspace.view.getState().mmPerSecond).toBeCloseTo(6.25, 9);
    zoom(workspace, app, 1);
    expect(workspace.view.getState().mmPerSecond).toBe(12.5);
    zoom(workspace, app, -1);
    expect(workspace.view.getState().mmPerSecond).toBeCloseTo(6.25, 9);
  });

  test('goes no closer than the fastest paper speed', () => {
    const workspace = workspaceOfThreeRows();
    for (let i = 0; i < 20; i++) zoom(workspace, app, 1);
    expect(workspace.view.getState().mmPerSecond).toBe(100);
    expect(zoom(workspace, app, 1)).toBe(false);
  });
});

describe('zooming around a point', () => {
  test('keeps what lies there, at any paper speed, in whichever row', () => {
    const workspace = workspaceOfThreeRows();
    workspace.view.setState({ startSeconds: 40 });
    const place = 1.25;
    const there = secondsAt(workspace, place);
    expect(there).toBeCloseTo(52.5, 9);
    for (const speed of [31.7, 44, 18.2, 25]) {
      zoomTo(workspace, speed, there, place);
      expect(workspace.view.getState().mmPerSecond).toBe(speed);
      expect(secondsAt(workspace, place)).toBeCloseTo(there, 9);
    }
    zoom(workspace, app, 1, place);
    expect(workspace.view.getState().mmPerSecond).toBe(50);
    expect(secondsAt(workspace, place)).toBeCloseTo(there, 9);
  });

  test('stays between the whole recording and the closest zoom, and takes the caret along', () => {
    const workspace = workspaceOfThreeRows();
    zoomTo(workspace, 1000, 100, 0.5);
    expect(workspace.view.getState().mmPerSecond).toBe(100);
    const { caret, startSeconds } = workspace.view.getState();
    expect(caret / 250).toBeGreaterThanOrEqual(startSeconds);
    zoomTo(workspace, 0.001, 100, 0.5);
    expect(workspace.view.getState()).toMatchObject({ startSeconds: 0, mmPerSecond: 6.25 });
  });

  test('a speed that is nearly a usual one is that one', () => {
    expect(usualSpeed(24.1)).toBe(25);
    expect(usualSpeed(31)).toBe(31);
  });
});
