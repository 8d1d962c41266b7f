import { expect, test } from 'vitest';
import { shownWidth } from '../../../../../src/core/report/plans/shown-width';
import { effectiveSizeDifference, effectiveSizeRatio } from '../../../../../src/core/score/effective-size';

const settings = { level: 0.95, seed: 1 };
const same = (n: number, right: number) => ({
  right: Array.from({ length: n }, () => right),
  whole: Array.from({ length: n }, () => 300),
});
const ratio = ({ right, whole }: ReturnType<typeof same>) => ({ parts: right, wholes: whole });

// source: definition; of volunteers who are all alike each study drawn is the same
test('of volunteers who are alike it is the width of the interval that the tables show', () => {
  const one = effectiveSizeRatio(same(12, 270).right, same(12, 270).whole);
  const two = effectiveSizeDifference(ratio(same(12, 270)), ratio(same(12, 288)));
  if (one.value === null || two.value === null) throw new Error('has a value');
  const width = ({ interval }: typeof one) => 100 * (interval![1] - interval![0]);
  expect(shownWidth([same(5, 270)], 12, settings)).toEqual({ value: width(one), n: 12 });
  expect(shownWidth([same(5, 270), same(5, 288)], 12, settings)).toEqual({ value: width(two), n: 12 });
});

test('it shrinks with the number of volunteers, and those without both recorders are left out', () => {
  const pilot = { right: [285, 270, 296, 240, 281, 262, 290, 251], whole: same(8, 0).whole };
  const of = (n: number) => shownWidth([pilot], n, settings).value!;
  expect(of(40)).toBeLessThan(of(10));
  const absent = { right: [...pilot.right, 0], whole: [...pilot.whole, 0] };
  const other = { right: [...pilot.right, 10], whole: [...pilot.whole, 300] };
  expect(shownWidth([other, absent], 10, settings)).toEqual(shownWidth([pilot, pilot], 10, settings));
});

test('without two volunteers there is none', () => {
  expect(shownWidth([same(5, 270)], 1, settings)).toMatchObject({ value: null, reason: 'needs two volunteers' });
  expect(shownWidth([same(0, 0)], 12, settings)).toMatchObject({ value: null });
});
