/**
 * How often the intervals hold the truth in simulated studies: the pooled quality over volunteers of several populations,
 * and the paired difference of two recorders. Run from the project's root:
 * npx tsx tests/reference/bootstrap/coverage.ts > tests/reference/bootstrap/coverage.json
 */
import { populations } from './populations';
import { simulateCoverage, simulateDifferences } from './simulate-coverage';

const shared = { studies: 2000, draws: 500, seed: 5 };
const sizes = [4, 8, 12, 24];
const cells = sizes.flatMap(volunteers => populations.map(population => ({ volunteers, population })));
const told = ({ volunteers, population }: (typeof cells)[number]) => ({ volunteers, population: population.name });

console.log(
  JSON.stringify(
    {
      ...shared,
      level: 0.95,
      populations: populations.map(({ name, description, truth }) => ({ name, description, truth })),
      pooled: cells.map(c => ({ ...told(c), covered: simulateCoverage({ ...c, ...shared }) })),
      differences: (['adds', 'own'] as const).flatMap(second =>
        cells.map(c => ({ ...told(c), second, covered: simulateDifferences({ ...c, second, ...shared }) })),
      ),
    },
    null,
    1,
  ),
);
