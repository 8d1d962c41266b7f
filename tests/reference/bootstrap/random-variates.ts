import type { Random } from '../../../src/core/random';

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

/** Beta variate by its mean and the sum of its two parameters. */
export function beta(random: Random, mean: number, spread: number): number {
  const a = gamma(random, mean * spread);
  return a / (a + gamma(random, (1 - mean) * spread));
}

export function binomial(random: Random, n: number, p: number): number {
  let hits = 0;
  for (let i = 0; i < n; i++) if (random.uniform() < p) hits++;
  return hits;
}

/** Poisson variate by counting waiting times; for means up to some tens. */
export function poisson(random: Random, mean: number): number {
  let n = 0;
  for (let time = -Math.log(1 - random.uniform()); time < mean; n++) time -= Math.log(1 - random.uniform());
  return n;
}

/** 1, 2, 3, ... with the given mean. */
export function geometric(random: Random, mean: number): number {
  return mean <= 1 ? 1 : 1 + Math.floor(Math.log(1 - random.uniform()) / Math.log(1 - 1 / mean));
}
