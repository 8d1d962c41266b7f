import { expect, test } from 'vitest';
import { enoughOf100, measuredPlans } from '../../../../../src/core/report/plans/measured-plans';
import stored from '../../../../reference/bootstrap/planning.json';

// source: the stored result of tests/reference/bootstrap/planning.ts
test('what the report says of plans is what was simulated', () => {
  expect(measuredPlans).toEqual(stored);
  for (const pilot of [8, 24]) {
    const cases = stored.cells.filter(c => c.pilot === pilot);
    const found = enoughOf100(pilot);
    expect(found.pilot).toBe(pilot);
    expect(found.low).toBe(Math.floor(Math.min(...cases.map(c => c.upperLimit.enoughPercent!))));
    expect(found.high).toBe(Math.floor(Math.max(...cases.map(c => c.upperLimit.enoughPercent!))));
  }
  expect(enoughOf100(3).pilot).toBe(8);
  expect(enoughOf100(100).pilot).toBe(24);
});

// The upper limit asks for more than the pilot taken as the population, in every population.
test('with the upper limit more plans are enough', () => {
  for (const { plain, upperLimit, population } of stored.cells)
    expect(upperLimit.enoughPercent!, population).toBeGreaterThanOrEqual(plain.enoughPercent!);
});

// Short of the aim where the mistakes are those of few volunteers, and nowhere else by much.
test('nearly all populations reach the wanted share of pilots', () => {
  const short = stored.cells.filter(c => c.upperLimit.enoughPercent! < 100 * stored.assurance);
  expect(short.map(c => [c.what, c.population, c.pilot])).toEqual([
    ['quality', '99.8 %', 24],
    ['difference', '99.8 %', 24],
    ['quality', 'one in ten bad', 8],
  ]);
});
