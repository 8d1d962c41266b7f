import { expect, test } from 'vitest';
import { largestChanceShare } from '../../../../src/core/agreement/clock';
import stored from '../../../reference/clock/false-pairs.json';

// source: the stored result of tests/reference/clock/false-pairs.ts; rule of three for the bound (common practice)
test('clocks of unrelated hearts are refused, and those of true pairs are well within the limit of chance', () => {
  const unrelated = stored.cells.filter(c => c.kind.startsWith('unrelated'));
  const tried = unrelated.reduce((n, c) => n + c.of, 0);
  const accepted = unrelated.flatMap(c => c.shares).filter(share => share <= largestChanceShare);
  expect(accepted).toEqual([]);
  expect(3 / tried).toBeLessThan(0.02);
  const pairs = stored.cells.filter(c => c.kind.startsWith('pair'));
  for (const share of pairs.flatMap(c => c.shares as number[])) expect(share).toBeLessThan(0.7 * largestChanceShare);
  // A heart as regular as a clock fits at many offsets: it is refused rather than guessed.
  for (const { heart, found, of } of pairs) if (heart !== 'regular') expect(found).toBe(of);
});
