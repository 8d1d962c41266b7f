/**
 * How often the intervals cover the true pooled quality: simulated studies of a beta-binomial quality over volunteers.
 * Run from the project's root: npx tsx tests/reference/bootstrap/coverage.ts > tests/reference/bootstrap/coverage.json
 */
import { simulateCoverage } from './simulate-coverage';

const cases = [
  { volunteers: 8, meanQuality: 0.9, spread: 20, studies: 2000 },
  { volunteers: 8, meanQuality: 0.99, spread: 50, studies: 2000 },
  { volunteers: 8, meanQuality: 0.97, spread: 40, studies: 2000 },
  { volunteers: 20, meanQuality: 0.9, spread: 20, studies: 2000 },
  { volunteers: 40, meanQuality: 0.9, spread: 20, studies: 2000 },
];
console.log(
  JSON.stringify(
    {
      draws: 1000,
      seed: 5,
      level: 0.95,
      cases: cases.map(c => ({ ...c, covered: simulateCoverage({ ...c, draws: 1000, seed: 5 }) })),
    },
    null,
    1,
  ),
);
