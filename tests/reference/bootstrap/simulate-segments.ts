import { type Random, randomFromNumber } from '../../../src/core/random';
import { errorRuns, runsInterval } from '../../../src/core/score/error-runs';
import type { Interval } from '../../../src/core/score/result';
import { wilsonInterval } from '../../../src/core/score/wilson';
import { geometric } from './random-variates';
import { type Held, tally } from './simulate-coverage';

/** What makes mistakes: 1 where one of `n` consecutive intervals is wrong. */
export interface MistakeSource {
  readonly name: string;
  readonly description: string;
  readonly wrong: (random: Random, n: number, quality: number) => Uint8Array;
}

/** Runs of wrong intervals of mean length `mean`, one after the other at random, long since under way. */
function runsOf(random: Random, n: number, quality: number, mean: number, length: () => number): Uint8Array {
  const out = new Uint8Array(n);
  const gap = (mean * quality) / (1 - quality);
  for (let at = -2000; at < n; ) {
    at += geometric(random, gap);
    for (let k = length(); k > 0; k--, at++) if (at >= 0 && at < n) out[at] = 1;
  }
  return out;
}

const inRuns = (
  name: string,
  description: string,
  mean: number,
  length: (random: Random) => number,
): MistakeSource => ({
  name,
  description,
  wrong: (random, n, quality) => runsOf(random, n, quality, mean, () => length(random)),
});

export const sources: readonly MistakeSource[] = [
  inRuns('alone', 'each mistake by itself', 1, () => 1),
  inRuns('pairs', 'two wrong intervals at a time, as a missed beat makes them', 2, () => 2),
  inRuns('bursts of 5', 'runs of 5 on average, geometric', 5, random => geometric(random, 5)),
  inRuns('bursts of 10', 'runs of 10 on average, geometric', 10, random => geometric(random, 10)),
  {
    name: 'noisy stretches',
    description: 'stretches of 20 intervals on average in which half of the pairs are wrong',
    wrong(random, n, quality) {
      const noisy = runsOf(random, n, 1 - 2 * (1 - quality), 20, () => geometric(random, 20));
      const out = new Uint8Array(n);
      for (let i = 0; i < n; i += 2) {
        const isWrong = random.uniform() < 0.5;
        for (const k of [i, i + 1]) if (k < n && noisy[k] === 1 && isWrong) out[k] = 1;
      }
      return out;
    },
  },
];

export const sizes = [150, 300, 600];
export const qualities = [0.9, 0.97, 0.99, 0.998];

export interface SegmentCase {
  readonly intervals: number;
  readonly quality: number;
  readonly source: MistakeSource;
  readonly segments: number;
  readonly seed: number;
}

export function simulateSegments({ intervals, quality, source, segments, seed }: SegmentCase): Record<string, Held> {
  const random = randomFromNumber(seed);
  const resampling = randomFromNumber(seed + 1);
  const beats = Int32Array.from({ length: intervals + 1 }, (_, i) => i);
  return tally(segments, quality, () => {
    const isWrong = source.wrong(random, intervals, quality);
    const wrong = [...isWrong].flatMap((w, i) => (w === 1 ? [i] : []));
    const right = intervals - wrong.length;
    return {
      ifIndependent: wilsonInterval(right, intervals),
      blockBootstrap: blockBootstrap(isWrong, resampling),
      errorRuns: runsInterval(right, intervals, errorRuns(beats, wrong, [])),
    };
  });
}

const blockLength = 20;
const draws = 200;

/** Percentiles over resamples of whole blocks, wrapped at the end (Künsch, Ann Stat 1989;17:1217, circular). */
function blockBootstrap(wrong: Uint8Array, random: Random): Interval {
  const n = wrong.length;
  const before = new Int32Array(n + blockLength + 1);
  for (let i = 0; i < n + blockLength; i++) before[i + 1] = before[i]! + wrong[i % n]!;
  const blocks = Math.ceil(n / blockLength);
  const shares = new Float64Array(draws);
  for (let draw = 0; draw < draws; draw++) {
    let sum = 0;
    for (let b = 0; b < blocks; b++) {
      const from = random.integer(n);
      sum += before[from + blockLength]! - before[from]!;
    }
    shares[draw] = 1 - sum / (blocks * blockLength);
  }
  shares.sort();
  return [shares[Math.floor(0.025 * draws)]!, shares[Math.ceil(0.975 * draws) - 1]!];
}
