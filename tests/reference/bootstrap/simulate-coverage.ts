import { clusterBootstrap, pooledRatio } from '../../../src/core/score/bootstrap';
import { clusterRatio } from '../../../src/core/score/cluster-ratio';
import type { Interval } from '../../../src/core/score/result';
import { Seeded } from '../../../src/core/score/seeded';

export interface CoverageCase {
  readonly volunteers: number;
  readonly meanQuality: number;
  /** Sum of the two parameters of the beta distribution of a volunteer's quality: larger = volunteers more alike. */
  readonly spread: number;
  readonly studies: number;
  readonly draws: number;
  readonly seed: number;
}

/** Gamma variate, shape > 0 (Marsaglia & Tsang, ACM Trans Math Softw 2000;26:363). */
function gamma(random: Seeded, shape: number): number {
  if (shape < 1) return gamma(random, shape + 1) * random.uniform() ** (1 / shape);
  const d = shape - 1 / 3;
  const c = 1 / Math.sqrt(9 * d);
  for (;;) {
    const x = random.normal();
    const v = (1 + c * x) ** 3;
    if (v > 0 && Math.log(random.uniform()) < 0.5 * x * x + d - d * v + d * Math.log(v)) return d * v;
  }
}

/** Shares of simulated studies whose interval holds the true quality. About 300 to 500 intervals a volunteer. */
export function simulateCoverage({ volunteers, meanQuality, spread, studies, draws, seed }: CoverageCase) {
  const random = new Seeded(seed);
  const held = { percentile: 0, bca: 0, expandedBca: 0, clusterRatio: 0 };
  const holds = (interval: Interval | null) =>
    interval !== null && interval[0] <= meanQuality && meanQuality <= interval[1] ? 1 : 0;
  for (let study = 0; study < studies; study++) {
    const right = new Float64Array(volunteers);
    const total = new Float64Array(volunteers);
    for (let v = 0; v < volunteers; v++) {
      const a = gamma(random, meanQuality * spread);
      const quality = a / (a + gamma(random, (1 - meanQuality) * spread));
      total[v] = 300 + random.below(201);
      for (let i = 0; i < total[v]!; i++) if (random.uniform() < quality) right[v]!++;
    }
    const result = clusterBootstrap(volunteers, pooledRatio(right, total), { draws, seed: study, level: 0.95 });
    const ratio = clusterRatio(right, total);
    if (ratio.value !== null) held.clusterRatio += holds(ratio.interval);
    if (result.value === null) continue;
    held.percentile += holds(result.percentile);
    held.bca += holds(result.bca);
    held.expandedBca += holds(result.expandedBca);
  }
  return {
    percentile: held.percentile / studies,
    bca: held.bca / studies,
    expandedBca: held.expandedBca / studies,
    clusterRatio: held.clusterRatio / studies,
  };
}
