import { clusterBootstrap, pairedDifference, pooledRatio } from '../../../src/core/score/bootstrap';
import { clusterJackknife, clusterRatio } from '../../../src/core/score/cluster-ratio';
import { sortedQuantile } from '../../../src/core/score/moments';
import type { Estimate, Interval } from '../../../src/core/score/result';
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

function beta(random: Seeded, mean: number, spread: number): number {
  const a = gamma(random, mean * spread);
  return a / (a + gamma(random, (1 - mean) * spread));
}

function binomial(random: Seeded, n: number, p: number): number {
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
  const random = new Seeded(seed);
  return shares(studies, meanQuality, study => {
    const total = new Float64Array(volunteers);
    const right = new Float64Array(volunteers);
    for (let v = 0; v < volunteers; v++) {
      const quality = beta(random, meanQuality, spread);
      total[v] = 300 + random.below(201);
      right[v] = binomial(random, total[v]!, quality);
    }
    const boot = clusterBootstrap(volunteers, pooledRatio(right, total), { draws, seed: study, level: 0.95 });
    return {
      ...bootstrapIntervals(boot),
      bootstrapT: logitBootstrapT(right, total, draws, study),
      shownFirst: intervalOf(clusterRatio(right, total)),
    };
  });
}

/** Two recorders on one body: the second has the first's quality times a factor with a beta distribution of its own. */
export function simulateDifferences({ volunteers, meanQuality, spread, studies, draws, seed }: CoverageCase) {
  const random = new Seeded(seed);
  const factor = 0.97;
  return shares(studies, meanQuality * (1 - factor), study => {
    const total = new Float64Array(volunteers);
    const first = new Float64Array(volunteers);
    const second = new Float64Array(volunteers);
    for (let v = 0; v < volunteers; v++) {
      const quality = beta(random, meanQuality, spread);
      total[v] = 300 + random.below(201);
      first[v] = binomial(random, total[v]!, quality);
      second[v] = binomial(random, total[v]!, quality * beta(random, factor, spread));
    }
    const difference = pairedDifference(pooledRatio(first, total), pooledRatio(second, total));
    const boot = clusterBootstrap(volunteers, difference, { draws, seed: study, level: 0.95 });
    return { ...bootstrapIntervals(boot), shownFirst: intervalOf(clusterJackknife(volunteers, difference)) };
  });
}

function bootstrapIntervals(boot: ReturnType<typeof clusterBootstrap>) {
  const { percentile, expandedPercentile, bca, expandedBca } =
    boot.value === null ? { percentile: null, expandedPercentile: null, bca: null, expandedBca: null } : boot;
  return { percentile, expandedPercentile, bca, expandedBca };
}

/** Bootstrap-t on the logit scale with linearized standard errors (Efron & Tibshirani 1993, ch. 12.5). */
function logitBootstrapT(right: Float64Array, total: Float64Array, draws: number, seed: number): Interval | null {
  const n = right.length;
  const random = new Seeded(seed);
  const picked = Int32Array.from(right, (_, i) => i);
  const [centre, error] = logitAndError(right, total, picked);
  const ts = new Float64Array(draws);
  let usable = 0;
  for (let draw = 0; draw < draws; draw++) {
    for (let i = 0; i < n; i++) picked[i] = random.below(n);
    const [logit, own] = logitAndError(right, total, picked);
    const t = (logit - centre) / own;
    if (Number.isFinite(t)) ts[usable++] = t;
  }
  if (usable < draws / 2) return null;
  const sorted = ts.subarray(0, usable).sort();
  const end = (share: number) => 1 / (1 + Math.exp(-(centre - sortedQuantile(sorted, share) * error)));
  return [end(0.975), end(0.025)];
}

function logitAndError(right: Float64Array, total: Float64Array, picked: Int32Array): [number, number] {
  let part = 0;
  let whole = 0;
  for (const i of picked) {
    part += right[i]!;
    whole += total[i]!;
  }
  const p = part / whole;
  let squares = 0;
  for (const i of picked) squares += (right[i]! - p * total[i]!) ** 2;
  const n = picked.length;
  return [Math.log(p / (1 - p)), Math.sqrt((n / (n - 1)) * squares) / (whole * p * (1 - p))];
}
