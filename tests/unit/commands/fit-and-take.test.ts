import { expect, test } from 'vitest';
import { changeGain, fitGain } from '../../../src/commands/display';
import { takeSuggestion } from '../../../src/commands/edits';
import type { QueueItem } from '../../../src/core/review/places/queue';
import type { SampleIndex } from '../../../src/core/units';
import { suggestionsOf } from '../../../src/state/review/suspicions';
import { active } from '../../../src/state/review/workspace';
import { canBeTaken } from '../../../src/views/strip-chart/model';
import { createStatus, openWorkspace } from './workspace';

test('waves are fitted to their rows: flatter where one leaves, taller where there is room', () => {
  const { workspace } = openWorkspace();
  const app = createStatus();
  const gain = () => workspace.view.getState().mmPerMv;
  expect(gain()).toBe(10);
  expect(fitGain(workspace, app, 1.2)).toBe(true);
  expect([gain(), app.ui.getState().said]).toEqual([5, 'Waves fitted to their rows: 5 mm/mV']);
  expect(fitGain(workspace, app, 0.6)).toBe(false);
  expect(app.ui.getState().said).toBe('The waves fit at 5 mm/mV.');
  expect(fitGain(workspace, app, 0.2)).toBe(true);
  expect(gain()).toBe(20);
  expect(fitGain(workspace, app, 40)).toBe(true);
  expect(gain()).toBe(2.5);
  expect(fitGain(workspace, app, 3)).toBe(false);
  expect(app.ui.getState().said).toBe('The waves cannot be drawn flatter.');
  expect(changeGain(workspace, app, -1)).toBe(false);
  expect(app.ui.getState().said).toBe('The waves cannot be drawn flatter.');
  expect(fitGain(workspace, app, undefined)).toBe(false);
  expect(gain()).toBe(2.5);
});

test('a suggestion is taken only where it is drawn, and taking does what was drawn', () => {
  const { workspace } = openWorkspace();
  const app = createStatus();
  const marks = () => active(workspace).review.marks;
  const [first, second, third] = [...marks()].slice(5, 8) as SampleIndex[];
  const item = (candidates: QueueItem['candidates'], mark: SampleIndex | null = first!) =>
    ({ id: 'x', at: first, mark, reason: 'noise', sentence: '', candidates, leads: [first] }) as unknown as QueueItem;
  const before = [...marks()];
  const silent = item([]);
  expect(suggestionsOf([silent])).toEqual([]);
  expect(takeSuggestion(workspace, app, silent)).toBe(false);
  expect([...marks()]).toEqual(before);
  const moved = item([
    { kind: 'move', at: first!, to: (first! + 7) as SampleIndex },
    { kind: 'delete', at: first! },
  ]);
  const drawn = suggestionsOf([moved]);
  expect(drawn).toEqual([{ kind: 'move', from: first, at: first! + 7 }]);
  expect(drawn.every(s => canBeTaken(s, marks()))).toBe(true);
  expect(takeSuggestion(workspace, app, moved)).toBe(true);
  expect(marks()).toContain(first! + 7);
  expect(marks()).not.toContain(first);
  // What is no longer drawn, because its mark has gone, cannot be taken either.
  expect(drawn.some(s => canBeTaken(s, marks()))).toBe(false);
  expect(takeSuggestion(workspace, app, moved)).toBe(false);
  const gap = item(
    [second!, third!].map(m => ({ kind: 'insert', at: (m + 20) as SampleIndex })),
    null,
  );
  expect(suggestionsOf([gap])).toHaveLength(2);
  expect(takeSuggestion(workspace, app, gap)).toBe(true);
  for (const s of suggestionsOf([gap])) expect(marks()).toContain(s.at);
});
