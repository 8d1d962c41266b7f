import fc from 'fast-check';
import { expect, test } from 'vitest';
import { drawingOrder } from '../../../../src/core/sample/order';
import { SampledQuality } from '../../../../src/core/sample/sampled-quality';
import { plainBets } from '../../../reference/sample/plain-bets';
import { amount } from '../../amount';

// Against the bets written down plainly, for a single share and without any grid.

test('the capital against any share is that of the published formulas', () => {
  const stretch = fc.record({
    bound: fc.integer({ min: 6, max: 30 }),
    group: fc.nat({ max: 4 }),
    filled: fc.double({ min: 0.3, max: 1, noNaN: true }),
    wrong: fc.oneof(fc.constant(0), fc.double({ min: 0, max: 1, noNaN: true })),
  });
  fc.assert(
    fc.property(
      fc.array(stretch, { minLength: 1, maxLength: 80 }),
      fc.nat(),
      fc.double({ min: 0.001, max: 0.999, noNaN: true }),
      (list, seed, p) => {
        const population = {
          stretches: list.map(({ bound, group }) => ({ bound, group })),
          weights: [4, 2, 1.5, 1, 1],
        };
        const counts = list.map(({ bound, filled, wrong }) => {
          return { errors: wrong * filled * bound, intervals: filled * bound };
        });
        const order = drawingOrder(population, seed);
        const quality = new SampledQuality(population);
        for (const i of order) quality.add({ stretch: i, kind: 'drawn', ...counts[i]! });
        const [plain, capital] = [plainBets(population, order, counts, p), quality.capital(p)];
        expect(Math.abs(capital.plus / plain.plus - 1)).toBeLessThan(1e-6);
        expect(Math.abs(capital.minus / plain.minus - 1)).toBeLessThan(1e-6);
      },
    ),
    { numRuns: amount(200, 20) },
  );
});
