import { type Random, randomFromNumber } from '../../../src/core/random';
import { poolSampled } from '../../../src/core/report/sampled-quality';
import { drawingOrder } from '../../../src/core/sample/order';
import { SampledQuality } from '../../../src/core/sample/sampled-quality';
import { classesByRank, classWeights } from '../../../src/core/sample/stretches';
import type { Population as Volunteers } from '../bootstrap/populations';

const stretches = 600;
const each = 6;
/** 1.25 times the marks in a stretch, rounded up, plus 1. */
const bound = 9;
/** Wrong intervals that come together, in bursts and otherwise. */
const run = { bursts: 8, others: 2 } as const;
const halfWidth = 0.01;

/** One volunteer of the bank: what a full review would find, and what a sample of the same recording found. */
export interface BankedVolunteer {
  readonly right: number;
  readonly intervals: number;
  readonly sampled: {
    readonly estimate: number;
    readonly low: number;
    readonly high: number;
    readonly intervals: number;
  };
}

/** Volunteers of a population, each sampled by a suspicion that is right in part. */
export function volunteersOf(population: Volunteers, count: number, random: Random): BankedVolunteer[] {
  return Array.from({ length: count }, () => {
    const intervals = stretches * each;
    const right = population.right(random, intervals);
    const errors = scattered(intervals - right, population.name === 'bursts' ? run.bursts : run.others, random);
    return { right, intervals, sampled: sampledUntilNarrow(errors, random) };
  });
}

/** Wrong intervals of each stretch: runs at random places, a run that does not fit goes on in the next stretch. */
function scattered(wrong: number, length: number, random: Random): Int32Array {
  const errors = new Int32Array(stretches);
  for (let left = wrong; left > 0; ) {
    let at = random.integer(stretches);
    for (let n = Math.min(length, left); n > 0; at = (at + 1) % stretches) {
      const fits = Math.min(n, each - errors[at]!);
      errors[at]! += fits;
      left -= fits;
      n -= fits;
    }
  }
  return errors;
}

function sampledUntilNarrow(errors: Int32Array, random: Random): BankedVolunteer['sampled'] {
  const suspicion = Float64Array.from(
    errors,
    e => (e > 0 && random.uniform() < 0.7 ? e : 0) + 2 * random.uniform() ** 4,
  );
  const classes = classesByRank(suspicion);
  const population = { stretches: classes.map(group => ({ bound, group })), weights: classWeights };
  const quality = new SampledQuality(population);
  for (const [n, stretch] of drawingOrder(population, random.uint32()).entries()) {
    quality.add({ stretch, kind: 'drawn', errors: errors[stretch]!, intervals: each });
    if (n % 5 !== 0) continue;
    const [low, high] = quality.share().interval;
    if (high - low <= 2 * halfWidth) break;
  }
  const { estimate, interval, intervals } = quality.share();
  return { estimate: estimate!, low: interval[0], high: interval[1], intervals };
}

/** Share of the studies whose interval holds the truth of the bank, and its median width in percentage points. */
export function simulatePooled(
  bank: readonly BankedVolunteer[],
  given: { size: number; sampled: 'all' | 'half'; studies: number; truth: number; seed: number },
): { held: number; width: number } {
  const random = randomFromNumber(given.seed);
  const widths: number[] = [];
  let held = 0;
  for (let study = 0; study < given.studies; study++) {
    const volunteers = Array.from({ length: given.size }, (_, i) => {
      const { right, intervals, sampled } = random.pick(bank);
      const { estimate, low, high } = sampled;
      if (given.sampled === 'half' && i % 2 === 1)
        return { quality: { value: (100 * right) / intervals, n: intervals }, intervals, interval95: null };
      const interval95 = [100 * low, 100 * high] as const;
      return { quality: { value: 100 * estimate, n: 1 }, intervals: sampled.intervals, interval95 };
    });
    const { interval } = poolSampled(volunteers) as { interval: readonly [number, number] };
    if (interval[0] <= 100 * given.truth && 100 * given.truth <= interval[1]) held++;
    widths.push(interval[1] - interval[0]);
  }
  widths.sort((a, b) => a - b);
  return { held: held / given.studies, width: Math.round(100 * widths[given.studies >> 1]!) / 100 };
}
