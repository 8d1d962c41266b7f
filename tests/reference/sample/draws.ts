import { randomFromNumber } from '../../../src/core/random';
import { drawingOrder } from '../../../src/core/sample/order';
import type { Population } from '../../../src/core/sample/population';
import { SampledQuality } from '../../../src/core/sample/sampled-quality';
import { classesByRank, classWeights } from '../../../src/core/sample/stretches';
import { plainBets } from './plain-bets';
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
    const random = randomFromNumber(seed);
    for (let i = ranked.length - 1; i > 0; i--) {
      const j = random.integer(i + 1);
      [ranked[i], ranked[j]] = [ranked[j]!, ranked[i]!];
    }
  }
  const classes = classesByRank(ranked);
  return { stretches: recording.bounds.map((bound, i) => ({ bound, group: classes[i]! })), weights: classWeights };
}

/** Stretches until the interval is as narrow as each half-width, to within one in fifty. */
function cost(recording: CountedRecording, population: Population, seed: number): number[] {
  const quality = new SampledQuality(population, alpha);
  const reached: number[] = [];
  for (const [n, stretch] of drawingOrder(population, seed).entries()) {
    quality.add({ stretch, kind: 'drawn', ...recording.counts[stretch]! });
    if (n % Math.max(1, Math.floor(n / 50)) !== 0) continue;
    const [low, high] = quality.share().interval;
    while (reached.length < halfWidths.length && high - low <= 2 * halfWidths[reached.length]!) reached.push(n + 1);
    if (reached.length === halfWidths.length) break;
  }
  return reached;
}

/** Whether the true share stays in the interval from the first stretch to the last. */
function holds(recording: CountedRecording, population: Population, seed: number): boolean {
  const order = drawingOrder(population, seed);
  return plainBets(population, order, recording.counts, 1 - recording.quality).largest < 2 / alpha;
}

/** Draws with seeds 1, 2 ...; in the first `followed` of them the width is followed too. */
export function simulateDraws(recording: CountedRecording, score: Score, draws: number, followed: number): DrawsResult {
  const population = populationBy(recording, score, 1);
  const sums = halfWidths.map(() => 0);
  let held = 0;
  for (let seed = 1; seed <= draws; seed++) {
    if (holds(recording, population, seed)) held++;
    if (seed > followed) continue;
    for (const [k, n] of cost(recording, population, seed).entries()) sums[k]! += n;
  }
  return { draws, held: held / draws, stretches: sums.map(sum => Math.round(sum / followed)) };
}
