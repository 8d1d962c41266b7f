import { expect, test } from 'vitest';
import { otherRecorder } from '../../../src/commands/display';
import { goToSuspicion } from '../../../src/commands/navigate';
import type { QueueItem } from '../../../src/core/review/queue';
import { createStatus, openWorkspace } from './workspace';

const items = (...places: [at: number, score: number][]) =>
  places.map(
    ([at, score]) => ({ at, score, sentence: `at ${at}`, candidates: [], reason: 'odd' }) as unknown as QueueItem,
  );

test('each recorder’s list goes on from its own last place', () => {
  const { workspace } = openWorkspace({
    'chest-band': items([250, 0.9], [350, 0.5], [450, 0.3]),
    'adhesive-logger': items([900, 0.8], [1100, 0.6], [1300, 0.2]),
  });
  const app = createStatus();
  const next = () => {
    expect(goToSuspicion(workspace, app, 1)).toBe(true);
    return workspace.view.getState().caret;
  };
  // Away from the place itself, so that the list goes on from what is remembered.
  const stepAside = () => workspace.view.setState({ caret: 5 as never });
  expect([next(), next()]).toEqual([250, 350]);
  otherRecorder(workspace, app);
  stepAside();
  expect(next()).toBe(900);
  otherRecorder(workspace, app);
  stepAside();
  expect(next()).toBe(450);
  otherRecorder(workspace, app);
  stepAside();
  expect([next(), next()]).toEqual([1100, 1300]);
  expect(goToSuspicion(workspace, app, 1)).toBe(false);
  expect(app.ui.getState().said).toBe('That was the last one.');
});
