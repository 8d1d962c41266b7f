/**
 * How often the intervals cover the truth in simulated studies: the pooled quality, beta-binomial over volunteers, and the
 * paired difference of two recorders. About six minutes. Run from the project's root:
 * npx tsx tests/reference/bootstrap/coverage.ts > tests/reference/bootstrap/coverage.json
 */
import { simulateCoverage, simulateDifferences } from './simulate-coverage';

const shared = { studies: 2000, draws: 1000, seed: 5 };
const sizes = [8, 16, 32];
const qualities = [
  { meanQuality: 0.9, spread: 20 },
  { meanQuality: 0.97, spread: 40 },
  { meanQuality: 0.99, spread: 50 },
  { meanQuality: 0.997, spread: 200 },
];
const every = (of: readonly (typeof qualities)[number][]) =>
  sizes.flatMap(volunteers => of.map(quality => ({ volunteers, ...quality })));

console.log(
  JSON.stringify(
    {
      ...shared,
      level: 0.95,
      pooled: every(qualities).map(c => ({ ...c, covered: simulateCoverage({ ...c, ...shared }) })),
      differences: every(qualities.slice(1, 3)).map(c => ({ ...c, covered: simulateDifferences({ ...c, ...shared }) })),
    },
    null,
    1,
  ),
);
