import { describe, expect, test } from 'vitest';
import { randomFromNumber } from '../../../../src/core/random';
import { drawingOrder, orderKeys, orderOf, uniformNumbers } from '../../../../src/core/sample/order';
import type { Population } from '../../../../src/core/sample/population';

describe('the hidden order', () => {
  const population: Population = {
    stretches: [
      { bound: 8, group: 0 },
      { bound: 8, group: 1 },
      { bound: 16, group: 0 },
    ],
    weights: [1, 2],
  };

  test('has the published keys, ties to the lower index', () => {
    // Published with the design of the method: -ln(1/2) over 8, 16 and 16.
    const keys = orderKeys(population, [0.5, 0.5, 0.5]);
    for (const [i, key] of [0.0866434, 0.0433217, 0.0433217].entries())
      expect(Math.abs(keys[i]! - key)).toBeLessThan(1e-7);
    expect([...orderOf(keys)]).toEqual([1, 2, 0]);
  });

  test('follows from the seed alone', () => {
    const many: Population = { stretches: Array.from({ length: 500 }, () => ({ bound: 8, group: 0 })), weights: [1] };
    expect(drawingOrder(many, 12)).toEqual(drawingOrder(many, 12));
    expect(drawingOrder(many, 12)).not.toEqual(drawingOrder(many, 13));
    expect([...drawingOrder(many, 12)].sort((a, b) => a - b)).toEqual(Array.from({ length: 500 }, (_, i) => i));
  });

  test('takes one number of the generator a stretch, never 0 or 1', () => {
    const random = randomFromNumber(99);
    const uniform = uniformNumbers(99, 50);
    expect([...uniform]).toEqual(Array.from({ length: 50 }, () => random.uniform() + 0.5 / 2 ** 32));
  });

  test('draws first in proportion to weight times bound', () => {
    // Efraimidis & Spirakis 2006: the first one drawn has probability w / sum of w; here 8, 16, 16 of 40.
    const firsts = [0, 0, 0];
    for (let seed = 0; seed < 4000; seed++) firsts[drawingOrder(population, seed)[0]!]!++;
    for (const [i, share] of [0.2, 0.4, 0.4].entries()) {
      expect(Math.abs(firsts[i]! / 4000 - share)).toBeLessThan(4 * Math.sqrt((share * (1 - share)) / 4000));
    }
  });
});
