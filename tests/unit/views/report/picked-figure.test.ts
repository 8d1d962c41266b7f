import { expect, test } from 'vitest';
import { pickedFigure } from '../../../../src/views/report/picked-figure';

const [quality, planning] = [{ id: 'figure-quality' }, { id: 'figure-planning' }];

test('the figure that was picked is given while the report has it, and the first where it has not', () => {
  expect(pickedFigure([quality, planning], '')).toBe(quality);
  expect(pickedFigure([quality, planning], 'figure-planning')).toBe(planning);
  // Computed again without the one picked: the buttons beside the choice still have a figure to give.
  expect(pickedFigure([quality], 'figure-planning')).toBe(quality);
  expect(pickedFigure([], 'figure-planning')).toBe(null);
});
