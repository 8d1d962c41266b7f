import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { drawingOrder } from '../../../../src/core/sample/order';
import type { Population, Step, StepKind } from '../../../../src/core/sample/population';
import { SampledQuality } from '../../../../src/core/sample/sampled-quality';
import { amount } from '../../amount';

// Rules that hold whatever is reviewed, by construction of the method.

interface Case {
  readonly population: Population;
  readonly steps: readonly Step[];
}

const weights = [4, 2, 1.5, 1, 1];

/** Reviews all stretches in the hidden order; some are known, some skipped, whole intervals and fractions. */
const cases: fc.Arbitrary<Case> = fc
  .record({
    stretches: fc.array(
      fc.record({
        bound: fc.integer({ min: 4, max: 30 }),
        group: fc.nat({ max: 4 }),
        filled: fc.double({ min: 0, max: 1, noNaN: true }),
        wrong: fc.oneof(fc.constant(0), fc.constant(0), fc.double({ min: 0, max: 1, noNaN: true })),
        kind: fc.constantFrom<StepKind>('drawn', 'drawn', 'drawn', 'known', 'skipped'),
      }),
      { minLength: 1, maxLength: 60 },
    ),
    seed: fc.nat(),
  })
  .map(({ stretches, seed }) => {
    const population: Population = { stretches: stretches.map(({ bound, group }) => ({ bound, group })), weights };
    const steps = [...drawingOrder(population, seed)].map(stretch => {
      const { bound, filled, wrong, kind } = stretches[stretch]!;
      const intervals = Math.round(filled * bound * 10) / 10;
      return { stretch, kind, intervals, errors: Math.floor(wrong * intervals) };
    });
    return { population, steps };
  });

function reviewed({ population, steps }: Case): SampledQuality {
  const quality = new SampledQuality(population);
  for (const step of steps) quality.add(step);
  return quality;
}

const runs = { numRuns: amount(200, 20) };

describe('the sampled share', () => {
  test('asked after every step is what one replay gives', () => {
    fc.assert(
      fc.property(cases, fc.nat(), ({ population, steps }, at) => {
        const upTo = 1 + (at % steps.length);
        const streaming = new SampledQuality(population);
        for (const step of steps.slice(0, upTo)) {
          streaming.add(step);
          streaming.share();
        }
        const [a, b] = [streaming.share(), reviewed({ population, steps: steps.slice(0, upTo) }).share()];
        expect({ ...a, interval: null }).toEqual({ ...b, interval: null });
        for (const end of [0, 1] as const) expect(Math.abs(a.interval[end] - b.interval[end])).toBeLessThan(1e-9);
      }),
      runs,
    );
  });

  test('with nothing left is the number itself', () => {
    fc.assert(
      fc.property(cases, ({ population, steps }) => {
        const all = steps.map(s => (s.kind === 'skipped' ? { ...s, kind: 'drawn' as const } : s));
        const share = reviewed({ population, steps: all }).share();
        const errors = all.reduce((sum, s) => sum + s.errors, 0);
        const intervals = all.reduce((sum, s) => sum + s.intervals, 0);
        expect(share.exact).toBe(true);
        if (intervals === 0) expect(share.estimate).toBeNull();
        else {
          for (const value of [share.estimate!, ...share.interval]) {
            expect(value).toBeCloseTo(1 - errors / intervals, 10);
          }
        }
      }),
      runs,
    );
  });

  test('never widens while stretches are added, and lies within [0, 1]', () => {
    fc.assert(
      fc.property(cases, ({ population, steps }) => {
        const quality = new SampledQuality(population);
        let [low, high] = [0, 1];
        for (const step of steps) {
          quality.add(step);
          const { interval } = quality.share();
          expect(interval[0]).toBeGreaterThanOrEqual(low - 3e-7);
          expect(interval[1]).toBeLessThanOrEqual(high + 3e-7);
          [low, high] = interval;
        }
      }),
      runs,
    );
  });

  test('of skipped stretches holds whatever they may be', () => {
    fc.assert(
      fc.property(cases, fc.double({ min: 0, max: 1, noNaN: true }), ({ population, steps }, wrong) => {
        const [low, high] = reviewed({ population, steps }).share().interval;
        const all = steps.map(s => {
          if (s.kind !== 'skipped') return s;
          return { ...s, errors: wrong * s.intervals };
        });
        const sum = (of: (s: Step) => number) => all.reduce((total, s) => total + of(s), 0);
        if (sum(s => s.intervals) === 0) return;
        const truth = 1 - sum(s => s.errors) / sum(s => s.intervals);
        // With all others reviewed nothing is left to chance.
        expect(truth).toBeGreaterThanOrEqual(low - 1e-9);
        expect(truth).toBeLessThanOrEqual(high + 1e-9);
      }),
      runs,
    );
  });
});

describe('a bound that is broken', () => {
  const population: Population = {
    stretches: Array.from({ length: 30 }, () => ({ bound: 8, group: 0 })),
    weights: [1],
  };
  const steps: Step[] = Array.from({ length: 12 }, (_, stretch) => {
    return { stretch, kind: 'drawn', errors: 0, intervals: stretch === 9 ? 10 : 6 };
  });

  test('raises all bounds to the largest ratio seen and replays', () => {
    const raised = reviewed({ population, steps }).share();
    const higher = { ...population, stretches: population.stretches.map(s => ({ ...s, bound: 10 })) };
    expect(raised.boundFactor).toBe(1.25);
    expect(raised).toEqual({ ...reviewed({ population: higher, steps }).share(), boundFactor: 1.25 });
  });

  test('is raised again when it is broken further, after a skipped stretch too', () => {
    const more: Step[] = [
      ...steps,
      { stretch: 12, kind: 'skipped', errors: 0, intervals: 0 },
      { stretch: 13, kind: 'known', errors: 1, intervals: 16 },
    ];
    const higher = { ...population, stretches: population.stretches.map(s => ({ ...s, bound: 16 })) };
    const raised = reviewed({ population, steps: more }).share();
    expect(raised).toEqual({ ...reviewed({ population: higher, steps: more }).share(), boundFactor: 2 });
  });
});

describe('refused', () => {
  const population: Population = { stretches: [{ bound: 8, group: 0 }], weights: [1] };
  const step: Step = { stretch: 0, kind: 'drawn', errors: 0, intervals: 6 };

  test.each([
    ['a stretch that does not exist', { ...step, stretch: 1 }, 'there is no stretch 1'],
    ['more errors than intervals', { ...step, errors: 7 }, 'stretch 0 has 7 errors in 6 intervals'],
    ['intervals that are no number', { ...step, intervals: Number.NaN }, 'stretch 0 has 0 errors in NaN intervals'],
  ])('%s', (_, bad, message) => {
    expect(() => new SampledQuality(population).add(bad)).toThrow(message);
  });

  test('a stretch that comes twice', () => {
    expect(() => reviewed({ population, steps: [step, step] })).toThrow('stretch 0 comes twice');
  });

  test.each([
    ['no stretch', { ...population, stretches: [] }, 0.05, 'there is no stretch to sample'],
    ['a bound of 0', { ...population, stretches: [{ bound: 0, group: 0 }] }, 0.05, 'stretch 0 needs a bound above 0'],
    ['a class that does not exist', { ...population, stretches: [{ bound: 8, group: 1 }] }, 0.05, 'stretch 0 needs'],
    ['a weight of 0', { ...population, weights: [0] }, 0.05, 'weights of classes are above 0'],
    ['alpha 1', population, 1, 'alpha lies between 0 and 1, not at 1'],
  ])('%s', (_, bad, alpha, message) => {
    expect(() => new SampledQuality(bad, alpha)).toThrow(message);
  });
});
