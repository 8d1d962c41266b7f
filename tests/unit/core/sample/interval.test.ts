import { describe, expect, test } from 'vitest';
import type { Population, Step } from '../../../../src/core/sample/population';
import { SampledQuality } from '../../../../src/core/sample/sampled-quality';

// Expected values: published with the design of the method, computed by a program of its own.

/** `[stretch, errors]` of stretches of 6 intervals each. */
type Drawn = readonly [stretch: number, errors: number];

const drawn = ([stretch, errors]: Drawn): Step => ({ stretch, kind: 'drawn', errors, intervals: 6 });
const known = ([stretch, errors]: Drawn): Step => ({ stretch, kind: 'known', errors, intervals: 6 });
const alike = (count: number): Population => ({
  stretches: Array.from({ length: count }, () => ({ bound: 8, group: 0 })),
  weights: [1],
});

function reviewed(population: Population, steps: readonly Step[]): SampledQuality {
  const quality = new SampledQuality(population);
  for (const step of steps) quality.add(step);
  return quality;
}

function expectShare(quality: SampledQuality, estimate: number | null, low: number, high: number): void {
  const share = quality.share();
  if (estimate !== null) expect(Math.abs(share.estimate! - estimate)).toBeLessThan(1e-6);
  expect(Math.abs(share.interval[0] - low)).toBeLessThan(1e-6);
  expect(Math.abs(share.interval[1] - high)).toBeLessThan(1e-6);
}

describe('the interval by betting', () => {
  test.each([
    [10, 0.638113, 1.489116],
    [30, 0.871473, 3.860949],
    [60, 0.947333, 32.897667],
  ])('A: %i of 100 stretches without an error', (count, low, plus) => {
    const quality = reviewed(
      alike(100),
      Array.from({ length: count }, (_, i) => drawn([i, 0])),
    );
    expectShare(quality, 1, low, 1);
    expect(Math.abs(quality.capital(0.05).plus - plus)).toBeLessThan(1e-6);
  });

  test.each([
    [20, 0.966667, 0.77771, 0.994737],
    [80, 0.991667, 0.958103, 0.99375],
    [100, 0.993333, 0.993333, 0.993333],
  ])('B: the 5th and the 20th of %i with two errors each', (count, estimate, low, high) => {
    const steps = Array.from({ length: count }, (_, i) => drawn([i, i === 4 || i === 19 ? 2 : 0]));
    expectShare(reviewed(alike(100), steps), estimate, low, high);
  });

  const c: Population = {
    stretches: Array.from({ length: 200 }, (_, i) => ({ bound: 8, group: i < 10 ? 0 : 1 })),
    weights: [4, 1],
  };
  const stepsOfC = [
    ...Array.from({ length: 10 }, (_, i) => known([i, 3])),
    ...Array.from({ length: 40 }, (_, i) => drawn([10 + i, i === 9 ? 1 : 0])),
  ];

  test('C: ten known stretches, then 40 drawn ones', () => {
    expectShare(reviewed(c, stepsOfC), 0.971042, 0.872649, 0.978295);
  });

  test("C: one more of the rater's own choice", () => {
    expectShare(reviewed(c, [...stepsOfC, known([50, 6])]), 0.966063, 0.872649, 0.9753);
  });

  test('D: two classes, drawn in turn', () => {
    const population: Population = {
      stretches: Array.from({ length: 60 }, (_, i) => ({ bound: 8, group: i < 20 ? 0 : 1 })),
      weights: [2, 1],
    };
    const draws: Drawn[] = [
      [0, 2],
      [20, 0],
      [1, 0],
      [21, 0],
      [2, 3],
      [22, 0],
      [23, 1],
      [24, 0],
    ];
    const quality = reviewed(population, draws.map(drawn));
    expectShare(quality, 0.885185, 0.400257, 0.987069);
    expect(Math.abs(quality.capital(0.3).plus - 3.06318)).toBeLessThan(1e-6);
    expect(Math.abs(quality.capital(0.02).minus - 2.588402)).toBeLessThan(1e-6);
  });
});
