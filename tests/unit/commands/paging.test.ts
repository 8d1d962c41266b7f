import { expect, test } from 'vitest';
import { stepRow, turnPage } from '../../../src/commands/navigate';
import { acceptAndTurn } from '../../../src/commands/places';
import { span } from '../../../src/core/units';
import { active, pageSpan } from '../../../src/state/review/workspace';
import { rowSeconds } from '../../../src/state/stores/view-store';
import { madeSession } from '../formats/bundle/reviewed';
import { createStatus, openWorkspace } from './workspace';

/** Two segments of two seconds, with time outside between and around them; pages of about a second. */
function opened() {
  const { session } = madeSession(['R1']).reviewed;
  const [first, ...others] = session.recordings;
  const hz = first!.recording.samplingRateHz;
  const segments = [
    { name: 'rest', ...span(2 * hz, 4 * hz) },
    { name: 'uphill run', ...span(12 * hz, 14 * hz) },
  ];
  const { log } = openWorkspace().workspace.review.get();
  const { workspace } = openWorkspace(
    {},
    { session: { ...session, recordings: [{ ...first!, segments }, ...others] }, log },
  );
  workspace.view.setState({
    mmPerSecond: 25,
    geometry: { widthPx: 1.2 * 25 * workspace.view.getState().pxPerMm, rowsThatFit: 3 },
  });
  const app = createStatus();
  const at = (seconds: number) =>
    workspace.view.setState({ startSeconds: seconds, caret: Math.round(seconds * hz) as never });
  const startS = () => pageSpan(workspace).start / hz;
  return { workspace, app, at, startS, hz };
}

test('a page turn leaves out the time outside segments, on and back, and says so', () => {
  const { workspace, app, at, startS, hz } = opened();
  at(3.2);
  turnPage(workspace, app, 1);
  expect(startS()).toBeGreaterThan(11);
  expect(pageSpan(workspace).end).toBeGreaterThan(12 * hz);
  expect(app.ui.getState().said).toBe('Time outside the segments skipped: uphill run.');
  at(12);
  // The first turn keeps the beat that overlaps, and with it the segment's start.
  for (let i = 0; i < 2; i++) turnPage(workspace, app, -1);
  expect(startS()).toBeLessThan(4);
  expect(pageSpan(workspace).end).toBeGreaterThan(3.5 * hz);
  at(3.2);
  acceptAndTurn(workspace, app);
  expect(startS()).toBeGreaterThan(11);
});

test('it does not where the person does not want it, is outside already, or where no segment follows', () => {
  const { workspace, app, at, startS } = opened();
  at(6);
  turnPage(workspace, app, 1);
  expect(startS()).toBeLessThan(8);
  at(13.2);
  turnPage(workspace, app, 1);
  expect(startS()).toBeGreaterThan(14);
  app.prefs.setState({ skipOutside: false });
  at(3.2);
  turnPage(workspace, app, 1);
  expect(startS()).toBeLessThan(6);
});

test('the same place one row down and up again', () => {
  const { workspace, hz } = opened();
  workspace.view.setState({ rows: 3, startSeconds: 0, caret: active(workspace).review.marks[1] as never });
  const before = workspace.view.getState().caret;
  const row = rowSeconds(workspace.view.getState(), workspace.view.getState().geometry) * hz;
  expect(stepRow(workspace, 1)).toBe(true);
  const { caret } = workspace.view.getState();
  expect(Math.abs(caret - before - row)).toBeLessThanOrEqual(0.201 * hz);
  const mark = active(workspace).selected;
  if (mark === null) expect(caret).toBe(Math.round(before + row));
  stepRow(workspace, -1);
  expect(Math.abs(workspace.view.getState().caret - before)).toBeLessThanOrEqual(0.2 * hz);
  workspace.view.setState({ caret: 0 as never });
  expect(stepRow(workspace, -1)).toBe(false);
});
