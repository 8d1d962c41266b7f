/**
 * Whether the interval of a sampled review holds the truth at every stretch of the way, and how many stretches it needs:
 * 24 h of simulated ECG in stretches of 10 s, mistakes planted at four qualities, drawn by the suspicion the review queue
 * goes by, by the same in random order, and by its reverse. About five minutes on a quiet machine. Run from the project's root:
 * npx esbuild tests/reference/sample/coverage.ts --bundle --platform=node --format=esm --outfile=/tmp/coverage.mjs
 * node /tmp/coverage.mjs > tests/reference/sample/coverage.json
 */
import { halfWidths, type Score, simulateDraws } from './draws';
import { plantedDay, simulatedDay } from './recordings';

const draws = 1000;
/** The width is followed in this many of them. */
const followed = 20;
const scores: readonly Score[] = ['good', 'shuffled', 'reversed'];
const day = simulatedDay('day');

const qualities = [0.999, 0.99, 0.97, 0.9].map(wanted => {
  const recording = plantedDay(day, wanted, `planted ${wanted}`);
  return {
    wanted,
    quality: recording.quality,
    stretches: recording.counts.length,
    /** The bounds must hold: largest number of intervals over its bound. */
    fullest: Math.max(...recording.counts.map((c, i) => c.intervals / recording.bounds[i]!)),
    scores: Object.fromEntries(scores.map(score => [score, simulateDraws(recording, score, draws, followed)])),
  };
});

console.log(JSON.stringify({ draws, followed, stretchSeconds: 10, halfWidths, qualities }, null, 1));
