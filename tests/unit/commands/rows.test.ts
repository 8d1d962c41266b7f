import { describe, expect, test } from 'vitest';
import { changeRows, fitRows, zoom } from '../../../src/commands/display';
import { newLog } from '../../../src/core/marks/log';
import { logHeader } from '../../../src/core/review/session';
import type { App } from '../../../src/state/app';
import { createReviewStore } from '../../../src/state/review/review-store';
import type { Desk } from '../../../src/state/review/workspace';
import { createViewStore, cssPxPerMm, pageSeconds } from '../../../src/state/stores/view-store';
import { session } from '../../browser/two-raters';

const widthPx = 25 * 10 * cssPxPerMm;
const app = { shell: { say: () => undefined } } as unknown as App;

/** A desk whose rows show ten seconds each, three of them fitting; the caret stands in the second row, at 15 s. */
function deskOfThreeRows(): Desk {
  const log = newLog(logHeader(session, 'R1'));
  const review = createReviewStore(
    { session, log, others: [], access: { writable: true, why: null } },
    async () => undefined,
    () => new Date(0),
  );
  const view = createViewStore();
  const desk = { review, view } as unknown as Desk;
  view.setState({ recordingId: 'band' });
  fitRows(desk, { widthPx, rowsThatFit: 3 });
  view.setState({ caret: (15 * 250) as never });
  return desk;
}

const shown = (desk: Desk) => {
  const { rows, startSec } = desk.view.getState();
  return [rows, Math.round(startSec * 1000) / 1000];
};

describe('rows of the page', () => {
  test('are as many as fit, up to three, when a session is opened for the first time', () => {
    const desk = deskOfThreeRows();
    expect(shown(desk)).toEqual([3, 0]);
  });

  test('become fewer where more traces would make them too low to read, and come back', () => {
    const desk = deskOfThreeRows();
    fitRows(desk, { widthPx, rowsThatFit: 1 });
    // The row that is left is the one of the caret.
    expect(shown(desk)).toEqual([1, 10]);
    fitRows(desk, { widthPx, rowsThatFit: 3 });
    expect(shown(desk)).toEqual([3, 10]);
  });

  test('follow the key, which keeps the caret in sight', () => {
    const desk = deskOfThreeRows();
    changeRows(desk, app);
    expect(shown(desk)).toEqual([1, 10]);
    fitRows(desk, { widthPx, rowsThatFit: 2 });
    expect(shown(desk)).toEqual([1, 10]);
    changeRows(desk, app);
    expect(shown(desk)[0]).toBe(2);
  });

  test('a restored number stays as it was', () => {
    const desk = deskOfThreeRows();
    const view = createViewStore();
    view.setState({ recordingId: 'band', rows: 2 });
    fitRows({ ...desk, view }, { widthPx, rowsThatFit: 4 });
    expect(view.getState().rows).toBe(2);
  });
});

describe('zooming out', () => {
  const seconds = (desk: Desk) => {
    const view = desk.view.getState();
    return pageSeconds(view, view.geometry);
  };

  test('ends with the recording, and comes back to the paper speeds', () => {
    const desk = deskOfThreeRows();
    for (let i = 0; i < 20; i++) zoom(desk, app, -1);
    // The recording has 120 s.
    expect(seconds(desk)).toBeCloseTo(120, 6);
    expect(desk.view.getState().startSec).toBe(0);
    expect(zoom(desk, app, -1)).toBe(false);
    // Three rows of 250 mm in 120 s are 6.25 mm/s.
    expect(desk.view.getState().mmPerSecond).toBeCloseTo(6.25, 9);
    zoom(desk, app, 1);
    expect(desk.view.getState().mmPerSecond).toBe(12.5);
    zoom(desk, app, -1);
    expect(desk.view.getState().mmPerSecond).toBeCloseTo(6.25, 9);
  });

  test('goes no closer than the fastest paper speed', () => {
    const desk = deskOfThreeRows();
    for (let i = 0; i < 20; i++) zoom(desk, app, 1);
    expect(desk.view.getState().mmPerSecond).toBe(100);
    expect(zoom(desk, app, 1)).toBe(false);
  });
});
