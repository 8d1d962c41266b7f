/**
 * How often the intervals of one segment's quality hold the long-run quality of what made it, mistakes coming alone, in
 * pairs, in bursts and in noisy stretches. Run from the project's root:
 * npx tsx tests/reference/bootstrap/segment-coverage.ts > tests/reference/bootstrap/segment-coverage.json
 */
import { qualities, simulateSegments, sizes, sources } from './simulate-segments';

const shared = { segments: 2000, seed: 7 };
const cells = sizes.flatMap(intervals =>
  qualities.flatMap(quality => sources.map(source => ({ intervals, quality, source }))),
);

console.log(
  JSON.stringify(
    {
      ...shared,
      level: 0.95,
      sources: sources.map(({ name, description }) => ({ name, description })),
      cells: cells.map(({ intervals, quality, source }) => ({
        intervals,
        quality,
        source: source.name,
        covered: simulateSegments({ intervals, quality, source, ...shared }),
      })),
    },
    null,
    1,
  ),
);
