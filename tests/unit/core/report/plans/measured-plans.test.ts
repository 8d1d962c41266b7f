import { expect, test } from 'vitest';
import { enoughOf100, measuredPlans } from '../../../../../src/core/report/plans/measured-plans';
import stored from '../../../../reference/bootstrap/planning.json';

// source: the stored result of tests/reference/bootstrap/planning.ts
test('what the report says of plans is what was simulated', () => {
  expect(measuredPlans).toEqual(stored);
  for (const pilot of [4, 8, 16, 24]) {
    const found = stored.cells.filter(c => c.pilot === pilot).flatMap(c => c.upperLimit.enoughPercent ?? []);
    expect(enoughOf100(pilot)).toMatchObject({
      pilot,
      low: Math.floor(Math.min(...found)),
      high: Math.floor(Math.max(...found)),
    });
  }
  expect(enoughOf100(3).pilot).toBe(4);
  expect(enoughOf100(100).pilot).toBe(24);
});

// The upper limit asks for more than the pilot taken as the population, in every population.
test('with the upper limit more plans are enough', () => {
  for (const { plain, upperLimit, population } of stored.cells)
    if (upperLimit.enoughPercent !== null)
      expect(upperLimit.enoughPercent, population).toBeGreaterThanOrEqual(plain.enoughPercent!);
});

// Where hardly any pilot bears a plan no share is given, and these are the pilots of few volunteers with hardly any mistake.
test('all populations reach the wanted share of pilots, or give no plan', () => {
  const short = stored.cells.filter(c => (c.upperLimit.enoughPercent ?? 100) < 100 * stored.assurance);
  expect(short.map(c => [c.what, c.population, c.pilot])).toEqual([]);
  const without = stored.cells.filter(c => c.upperLimit.enoughPercent === null);
  expect(without.map(c => [c.what, c.population, c.pilot])).toEqual([
    ['quality', '99.8 %', 4],
    ['difference', '99.8 %', 4],
    ['quality', '99.8 %', 8],
    ['difference', '99.8 %', 8],
  ]);
});
