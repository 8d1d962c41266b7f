import { randomFromNumber } from '../random';
import type { Population } from './population';

/** Uniform numbers in (0, 1), one for each stretch in order of time, from a seed: (sfc32 + 1/2) / 2^32. */
export function uniformNumbers(seed: number, count: number): Float64Array {
  const random = randomFromNumber(seed);
  return Float64Array.from({ length: count }, () => (random.uint32() + 0.5) / 2 ** 32);
}

/**
 * Keys of a weighted order without replacement: -ln(U) / (g u), smallest first (Efraimidis & Spirakis, Inf Process Lett
 * 2006;97:181, from memory; they raise U to 1 / weight and take the largest, which is the same order).
 */
export function orderKeys({ stretches, weights }: Population, uniform: ArrayLike<number>): Float64Array {
  return Float64Array.from(stretches, ({ bound, group }, i) => -Math.log(uniform[i]!) / (weights[group]! * bound));
}

/** Stretches by ascending key, ties to the lower index. */
export function orderOf(keys: Float64Array): Int32Array {
  return Int32Array.from(keys, (_, i) => i).sort((a, b) => keys[a]! - keys[b]! || a - b);
}

/** The hidden order in which the stretches of a sample are drawn. */
export function drawingOrder(population: Population, seed: number): Int32Array {
  return orderOf(orderKeys(population, uniformNumbers(seed, population.stretches.length)));
}
