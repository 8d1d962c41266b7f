import type { Random } from '../../../src/core/random';
import { beta, binomial, geometric, poisson } from './random-variates';

/** A population of volunteers whose recorder makes mistakes in one way. */
export interface Population {
  readonly name: string;
  readonly description: string;
  /** True quality: expected share of right intervals, as a fraction. */
  readonly truth: number;
  /** Right intervals of one more volunteer who has `total`. */
  readonly right: (random: Random, total: number) => number;
}

const betaBinomial = (name: string, truth: number, spread: number): Population => ({
  name,
  description: `beta-binomial, mean ${100 * truth} %, intraclass correlation ${(1 / (spread + 1)).toFixed(3)}`,
  truth,
  right: (random, total) => binomial(random, total, beta(random, truth, spread)),
});

/** Mean number of intervals of a volunteer: 300 to 500, each as likely. */
export const meanTotal = 400;
export const drawTotal = (random: Random) => 300 + random.integer(201);

export const populations: readonly Population[] = [
  betaBinomial('90 %', 0.9, 20),
  betaBinomial('97 %', 0.97, 40),
  betaBinomial('99 %', 0.99, 50),
  betaBinomial('99.8 %', 0.998, 100),
  {
    name: '60 % without error',
    description: 'six volunteers in ten have no error at all, the others are beta-binomial, mean 97 %',
    truth: 0.6 + 0.4 * 0.97,
    right: (random, total) => (random.uniform() < 0.6 ? total : binomial(random, total, beta(random, 0.97, 40))),
  },
  {
    name: 'one in ten bad',
    description: 'one volunteer in ten has 90 %, the others 99.8 %',
    truth: 0.9 * 0.998 + 0.1 * 0.9,
    right: (random, total) => binomial(random, total, random.uniform() < 0.1 ? 0.9 : 0.998),
  },
  {
    name: 'one in twenty worse',
    description: 'one volunteer in twenty has 80 %, the others 99.8 %: fewer volunteers than this takes to be seen',
    truth: 0.95 * 0.998 + 0.05 * 0.8,
    right: (random, total) => binomial(random, total, random.uniform() < 0.05 ? 0.8 : 0.998),
  },
  {
    name: 'bursts',
    description: 'every volunteer has on average one burst of errors in 400 intervals, of 8 on average, geometric',
    truth: 1 - 8 / meanTotal,
    right: (random, total) => {
      let wrong = 0;
      for (let b = poisson(random, total / meanTotal); b > 0; b--) wrong += geometric(random, 8);
      return Math.max(0, total - wrong);
    },
  },
];
