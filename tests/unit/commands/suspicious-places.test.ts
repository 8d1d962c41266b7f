import { expect, test } from 'vitest';
import { otherRecorder } from '../../../src/commands/display';
import { goToSuspicion } from '../../../src/commands/navigate';
import type { QueueItem } from '../../../src/core/review/places/queue';
import { createStatus, openWorkspace } from './workspace';

const items = (...places: [at: number, score: number][]) =>
  places.map(
    ([at, score]) =>
      ({
        id: `mark@${at}`,
        at,
        mark: at,
        score,
        sentence: `at ${at}`,
        candidates: [],
        reason: 'odd',
        leads: [at],
      }) as unknown as QueueItem,
  );

/** Beats missing between two marks. */
const missing = (at: number, score: number, count = 1) =>
  ({ ...items([at, score])[0]!, id: `missing@${at}`, mark: null, leads: Array(count).fill(at) }) as QueueItem;

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
});

function tour(queue: Record<string, QueueItem[]>) {
  const { workspace } = openWorkspace(queue);
  const app = createStatus();
  const go = (direction: 1 | -1 = 1) => goToSuspicion(workspace, app, direction);
  const caret = () => workspace.view.getState().caret as number;
  return { workspace, go, caret, said: () => app.ui.getState().said };
}

test('the tour ends only where nothing else waits; before that it begins again and says so', () => {
  const queue = { 'chest-band': items([250, 0.9], [350, 0.5]) };
  const { go, caret, said } = tour(queue);
  go();
  go();
  expect(caret()).toBe(350);
  expect(go()).toBe(true);
  expect([caret(), said()]).toEqual([250, 'From the top again, still open: at 250']);
  queue['chest-band'] = items([250, 0.9]);
  expect(go()).toBe(false);
  expect(said()).toBe('That was the last one.');
});

test('a place that became stronger is gone to before the last one is called the last', () => {
  const queue = { 'chest-band': items([250, 0.5], [350, 0.4]) };
  const { go, caret } = tour(queue);
  go();
  go();
  queue['chest-band'] = items([450, 0.95], [350, 0.4]);
  expect(go()).toBe(true);
  expect(caret()).toBe(450);
});

test('a place that was settled is followed by the one after it, not by the first again', () => {
  const queue = { 'chest-band': items([250, 0.9], [350, 0.5], [450, 0.3]) };
  const { workspace, go, caret } = tour(queue);
  go();
  go();
  queue['chest-band'] = items([250, 0.9], [450, 0.3]);
  workspace.view.setState({ caret: 355 as never });
  go();
  expect(caret()).toBe(450);
  // The strongest, passed over, comes last.
  queue['chest-band'] = items([250, 0.9]);
  workspace.view.setState({ caret: 455 as never });
  go();
  expect(caret()).toBe(250);
});

test('a gap is finished before it is left, and beats missing in a row come before one', () => {
  const queue = { 'chest-band': [missing(300, 0.6, 3), ...items([900, 0.9])] };
  const { workspace, go, caret } = tour(queue);
  const { detected } = workspace.review.get().session.recordings[0]!;
  const [first, second] = [detected[10]!, detected[11]!];
  const third = Math.round(first + (second - first) / 4);
  queue['chest-band'] = [missing(third, 0.6, 3), ...items([5500, 0.9])];
  go();
  expect(caret()).toBe(third);
  // One of them was inserted by hand: the rest of the gap is weaker than the place elsewhere.
  const rest = Math.round(first + (second - first) / 2);
  queue['chest-band'] = [...items([5500, 0.9]), missing(rest, 0.3)];
  workspace.view.setState({ caret: (third + 1) as never });
  go();
  expect(caret()).toBe(rest);
  queue['chest-band'] = items([5500, 0.9]);
  go();
  expect(caret()).toBe(5500);
});

test('what lies below the line is counted, not gone to', () => {
  const { go, caret, said } = tour({ 'chest-band': items([250, 0.9], [350, 0.09], [450, 0.05]) });
  go();
  expect(go()).toBe(false);
  expect(caret()).toBe(250);
  expect(said()).toBe('That was the last one. 2 less likely places are below the line: page by page finds more.');
});
