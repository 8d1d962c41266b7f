import { drawingOrder } from '../../../src/core/sample/order';
import type { Population } from '../../../src/core/sample/population';
import { SampledQuality } from '../../../src/core/sample/sampled-quality';
import { classesByRank, classWeights } from '../../../src/core/sample/stretches';
import { Seeded } from '../../../src/core/score/seeded';
import type { CountedRecording } from './recordings';

export type Score = 'good' | 'shuffled' | 'reversed';

/** Half-widths whose cost is measured, as shares. */
export const halfWidths = [0.01, 0.005, 0.002] as const;
const alpha = 0.05;

export interface DrawsResult {
  readonly draws: number;
  /** Share of the draws whose interval held the truth at every stretch of the way, to the last one. */
  readonly held: number;
  /** Mean number of stretches until the interval was as narrow as each half-width. */
  readonly stretches: readonly number[];
}

function populationBy(recording: CountedRecording, score: Score, seed: number): Population {
  const { suspicion } = recording;
  const ranked = score === 'reversed' ? suspicion.map(s => -s) : suspicion.slice();
  if (score === 'shuffled') {
    const random = new Seeded(seed);
    for (let i = ranked.length - 1; i > 0; i--) {
      const j = random.below(i + 1);
      [ranked[i], ranked[j]] = [ranked[j]!, ranked[i]!];
    }
  }
  const classes = classesByRank(ranked);
  return { stretches: recording.bounds.map((bound, i) => ({ bound, group: classes[i]! })), weights: classWeights };
}

/** Reviews all stretches in the order of one seed. */
function oneDraw(recording: CountedRecording, population: Population, seed: number) {
  const quality = new SampledQuality(population, alpha);
  const reached: number[] = [];
  for (const [n, stretch] of drawingOrder(population, seed).entries()) {
    quality.add({ stretch, kind: 'drawn', ...recording.counts[stretch]! });
    // The width is looked at often enough to find the stretch to within one in two hundred.
    if (reached.length === halfWidths.length || n % Math.max(1, Math.floor(n / 200)) !== 0) continue;
    const { interval } = quality.share();
    while (reached.length < halfWidths.length && interval[1] - interval[0] <= 2 * halfWidths[reached.length]!) {
      reached.push(n + 1);
    }
  }
  const limit = 2 / alpha;
  const { plus, minus } = quality.capital(1 - recording.quality, limit);
  return { held: plus < limit && minus < limit, reached };
}

export function simulateDraws(recording: CountedRecording, score: Score, draws: number, seed: number): DrawsResult {
  const population = populationBy(recording, score, seed);
  const sums = halfWidths.map(() => 0);
  let held = 0;
  for (let i = 0; i < draws; i++) {
    const draw = oneDraw(recording, population, seed + i);
    if (draw.held) held++;
    for (const [k, n] of draw.reached.entries()) sums[k]! += n;
  }
  return { draws, held: held / draws, stretches: sums.map(sum => Math.round(sum / draws)) };
}
