/**
 * How often the pooled interval over volunteers holds the true quality where reviews are samples: eight populations of
 * volunteers, each with 600 stretches of 6 intervals and its mistakes in runs, sampled to 1 point on either side; studies
 * of 4 to 24 of them, all sampled or every second one reviewed in full. About two minutes. Run from the project's root:
 * npx tsx tests/reference/sample/pooled-coverage.ts > tests/reference/sample/pooled-coverage.json
 */
import { randomFromNumber } from '../../../src/core/random';
import { populations } from '../bootstrap/populations';
import { simulatePooled, volunteersOf } from './pooled-draws';

const bank = 400;
const studies = 2000;
const sizes = [4, 8, 12, 24];

const found = populations.map((population, i) => {
  const volunteers = volunteersOf(population, bank, randomFromNumber(100 + i));
  const truth = volunteers.reduce((sum, v) => sum + v.right, 0) / volunteers.reduce((sum, v) => sum + v.intervals, 0);
  const cases = sizes.flatMap(size =>
    (['all', 'half'] as const).map(sampled => ({
      volunteers: size,
      sampled,
      ...simulatePooled(volunteers, { size, sampled, studies, truth, seed: 7 }),
    })),
  );
  return { population: population.name, truth, cases };
});

console.log(JSON.stringify({ bank, studies, stretches: 600, halfWidth: 0.01, found }, null, 1));
