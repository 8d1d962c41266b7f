import { type Random, randomFromNumber } from '../../../src/core/random';
import { clusterBootstrap, pairedDifference, pooledRatio } from '../../../src/core/score/bootstrap';
import { differenceBootstrapT, ratioBootstrapT } from '../../../src/core/score/bootstrap-t';
import { clusterJackknife, clusterRatio } from '../../../src/core/score/cluster-ratio';
import type { Estimate, Interval } from '../../../src/core/score/result';

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
function gamma(random: Random, shape: number): number {
  if (shape < 1) return gamma(random, shape + 1) * random.uniform() ** (1 / shape);
  const d = shape - 1 / 3;
  const c = 1 / Math.sqrt(9 * d);
  for (;;) {
    const x = random.normal();
    const v = (1 + c * x) ** 3;
    if (v > 0 && Math.log(random.uniform()) < 0.5 * x * x + d - d * v + d * Math.log(v)) return d * v;
  }
}

function beta(random: Random, mean: number, spread: number): number {
  const a = gamma(random, mean * spread);
  return a / (a + gamma(random, (1 - mean) * spread));
}

function binomial(random: Random, n: number, p: number): number {
  let hits = 0;
  for (let i = 0; i < n; i++) if (random.uniform() < p) hits++;
  return hits;
}

const intervalOf = (e: Estimate) => (e.value === null ? null : e.interval);

/** Shares of the studies whose interval, by name, holds the truth; a study without an interval does not. */
function shares(studies: number, truth: number, study: (i: number) => Record<string, Interval | null>) {
  const held: Record<string, number> = {};
  for (let i = 0; i < studies; i++) {
    for (const [name, interval] of Object.entries(study(i))) {
      const holds = interval !== null && interval[0] <= truth && truth <= interval[1];
      held[name] = (held[name] ?? 0) + (holds ? 1 : 0);
    }
  }
  return Object.fromEntries(Object.entries(held).map(([name, n]) => [name, n / studies]));
}

/** Pooled quality over volunteers whose own quality has a beta distribution. 300 to 500 intervals a volunteer. */
export function simulateCoverage({ volunteers, meanQuality, spread, studies, draws, seed }: CoverageCase) {
  const random = randomFromNumber(seed);
  return shares(studies, meanQuality, study => {
    const total = new Float64Array(volunteers);
    const right = new Float64Array(volunteers);
    for (let v = 0; v < volunteers; v++) {
      const quality = beta(random, meanQuality, spread);
      total[v] = 300 + random.integer(201);
      right[v] = binomial(random, total[v]!, quality);
    }
    const boot = clusterBootstrap(volunteers, pooledRatio(right, total), { draws, seed: study, level: 0.95 });
    return {
      ...bootstrapIntervals(boot),
      bootstrapT: intervalOf(ratioBootstrapT(right, total, { draws, seed: study, level: 0.95 })),
      jackknife: intervalOf(clusterRatio(right, total)),
    };
  });
}

/** Two recorders on one body: the second has the first's quality times a factor with a beta distribution of its own. */
export function simulateDifferences({ volunteers, meanQuality, spread, studies, draws, seed }: CoverageCase) {
  const random = randomFromNumber(seed);
  const factor = 0.97;
  return shares(studies, meanQuality * (1 - factor), study => {
    const total = new Float64Array(volunteers);
    const first = new Float64Array(volunteers);
    const second = new Float64Array(volunteers);
    for (let v = 0; v < volunteers; v++) {
      const quality = beta(random, meanQuality, spread);
      total[v] = 300 + random.integer(201);
      first[v] = binomial(random, total[v]!, quality);
      second[v] = binomial(random, total[v]!, quality * beta(random, factor, spread));
    }
    const difference = pairedDifference(pooledRatio(first, total), pooledRatio(second, total));
    const boot = clusterBootstrap(volunteers, difference, { draws, seed: study, level: 0.95 });
    const of = (parts: Float64Array) => ({ parts, wholes: total });
    return {
      ...bootstrapIntervals(boot),
      bootstrapT: intervalOf(differenceBootstrapT(of(first), of(second), { draws, seed: study, level: 0.95 })),
      jackknife: intervalOf(clusterJackknife(volunteers, difference)),
    };
  });
}

function bootstrapIntervals(boot: ReturnType<typeof clusterBootstrap>) {
  const { percentile, expandedPercentile, bca, expandedBca } =
    boot.value === null ? { percentile: null, expandedPercentile: null, bca: null, expandedBca: null } : boot;
  return { percentile, expandedPercentile, bca, expandedBca };
}
