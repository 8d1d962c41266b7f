import { expect, test } from 'vitest';
import { nextPlace, previousPlace, setAsideAndGoOn, takeAndGoOn } from '../../../src/commands/places';
import type { QueueItem } from '../../../src/core/review/places/queue';
import type { SampleIndex } from '../../../src/core/units';
import { active, pageSpan, type ReviewWorkspace } from '../../../src/state/review/workspace';
import { createStatus, openWorkspace } from './workspace';

/** Places at the second, third and fifth mark of the recorder, ranked the other way round; the last below the line. */
function opened() {
  const queue: Record<string, QueueItem[]> = {};
  const { workspace } = openWorkspace(queue);
  const marks = active(workspace).review.marks;
  const item = (k: number, score: number): QueueItem => {
    const at = marks[k]! as SampleIndex;
    const sentence = `place ${k}`;
    const candidates = [{ kind: 'delete', at }] as const;
    const common = { reason: 'shape', sentence, sentences: [sentence], intervalOnly: false, candidates, leads: [at] };
    return { id: `mark@${at}`, at, mark: at, score, group: 'shape', spread: 1, ...common };
  };
  queue['chest-band'] = [item(2, 0.9), item(1, 0.5), item(4, 0.05)];
  const settle = (k: number) => {
    queue['chest-band'] = queue['chest-band']!.filter(i => i.at !== marks[k]);
  };
  const appear = (k: number) => {
    queue['chest-band'] = [...queue['chest-band']!, item(k, 0.8)];
  };
  return { workspace, app: createStatus(), marks, settle, appear };
}

test('one key goes through the places of the page in the order of time, then accepts and turns it', () => {
  const { workspace, app, marks } = opened();
  const caret = () => workspace.view.getState().caret;
  const before = pageSpan(workspace);
  expect(marks[4]).toBeLessThan(before.end);
  expect(nextPlace(workspace, app as never)).toBe(true);
  expect(caret()).toBe(marks[1]);
  nextPlace(workspace, app as never);
  expect(caret()).toBe(marks[2]);
  expect(app.ui.getState().said).toBe('place 2 (90 %)');
  previousPlace(workspace, app as never);
  expect(caret()).toBe(marks[1]);
  nextPlace(workspace, app as never);
  expect(active(workspace).review.accepted).toEqual([]);
  // What is left lies below the line.
  nextPlace(workspace, app as never);
  expect(active(workspace).review.accepted).toEqual([before]);
});

test('taking and setting aside go on to the next place, and never turn the page', () => {
  const { workspace, app, marks, settle } = opened();
  nextPlace(workspace, app as never);
  settle(1);
  expect(setAsideAndGoOn(workspace, app as never)).toBe(false);
  workspace.view.setState({ caret: marks[2]! as SampleIndex });
  expect(takeAndGoOn(workspace, app as never)).toBe(true);
  expect([...active(workspace).review.marks]).not.toContain(marks[2]);
  expect(active(workspace).review.accepted).toEqual([]);
});

test('a place that a correction brings out earlier on the page is gone to before the page is accepted', () => {
  const { workspace, app, marks, settle, appear } = opened();
  const caret = () => workspace.view.getState().caret;
  nextPlace(workspace, app as never);
  nextPlace(workspace, app as never);
  expect(caret()).toBe(marks[2]);
  settle(2);
  appear(0);
  nextPlace(workspace, app as never);
  expect(caret()).toBe(marks[0]);
  expect(active(workspace).review.accepted).toEqual([]);
  // Seen once and left as it is: it does not hold up the page for ever.
  nextPlace(workspace, app as never);
  expect(caret()).toBe(marks[1]);
  nextPlace(workspace, app as never);
  expect(active(workspace).review.accepted).toHaveLength(1);
});

test('what is not drawn yet, as right after undoing, is drawn first and taken by the second press', () => {
  const { workspace, app, marks } = opened();
  let shown = false;
  const { suspicions } = workspace;
  const late: ReviewWorkspace = {
    ...workspace,
    suspicions: {
      ...suspicions,
      items: id => (shown ? suspicions.items(id) : []),
      itemsNow(id) {
        shown = true;
        return suspicions.itemsNow(id);
      },
    },
  };
  late.view.setState({ caret: marks[2] as SampleIndex });
  const removed = () => !active(late).review.marks.includes(marks[2]!);
  for (const run of [takeAndGoOn, setAsideAndGoOn]) {
    shown = false;
    expect(run(late, app)).toBe(false);
    expect(app.ui.getState().said).toBe('This place is shown only now: look, and press again.');
  }
  expect(removed()).toBe(false);
  expect(takeAndGoOn(late, app)).toBe(true);
  expect(removed()).toBe(true);
});
