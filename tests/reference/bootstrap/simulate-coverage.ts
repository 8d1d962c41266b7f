import { type Random, randomFromNumber } from '../../../src/core/random';
import { clusterBootstrap, pairedDifference, pooledRatio } from '../../../src/core/score/bootstrap';
import { differenceBootstrapT, ratioBootstrapT } from '../../../src/core/score/bootstrap-t';
import { clusterJackknife, clusterRatio } from '../../../src/core/score/cluster-ratio';
import { effectiveSizeDifference, effectiveSizeRatio } from '../../../src/core/score/effective-size';
import type { Estimate, Interval } from '../../../src/core/score/result';
import { drawTotal, type Population } from './populations';
import { beta, binomial } from './random-variates';
import { robustLogit } from './robust-logit';

export interface CoverageCase {
  readonly volunteers: number;
  readonly population: Population;
  readonly studies: number;
  readonly draws: number;
  readonly seed: number;
}

/** What one kind of interval did over the simulated studies. */
export interface Held {
  /** Share of the studies whose interval holds the truth; a study without an interval does not. */
  readonly held: number;
  /** Share of the studies without an interval. */
  readonly none: number;
  /** Median width in percentage points over the studies that have one. */
  readonly width: number | null;
}

const intervalOf = (e: Estimate) => (e.value === null ? null : e.interval);

export function tally(studies: number, truth: number, study: (i: number) => Record<string, Interval | null>) {
  const widths: Record<string, number[]> = {};
  const held: Record<string, number> = {};
  for (let i = 0; i < studies; i++) {
    for (const [name, interval] of Object.entries(study(i))) {
      widths[name] ??= [];
      held[name] ??= 0;
      if (interval === null) continue;
      widths[name].push(interval[1] - interval[0]);
      if (interval[0] <= truth && truth <= interval[1]) held[name]++;
    }
  }
  const result = (name: string): Held => {
    const of = widths[name]!.sort((a, b) => a - b);
    const median = of[of.length >> 1];
    return {
      held: held[name]! / studies,
      none: 1 - of.length / studies,
      width: median === undefined ? null : Math.round(1e4 * median) / 100,
    };
  };
  return Object.fromEntries(Object.keys(held).map(name => [name, result(name)]));
}

/** The pooled quality over volunteers of one population. */
export function simulateCoverage({ volunteers, population, studies, draws, seed }: CoverageCase): Record<string, Held> {
  const random = randomFromNumber(seed);
  return tally(studies, population.truth, study => {
    const total = new Float64Array(volunteers);
    const right = new Float64Array(volunteers);
    for (let v = 0; v < volunteers; v++) {
      total[v] = drawTotal(random);
      right[v] = population.right(random, total[v]!);
    }
    const boot = clusterBootstrap(volunteers, pooledRatio(right, total), { draws, seed: study, level: 0.95 });
    return {
      ...bootstrapIntervals(boot),
      bootstrapT: intervalOf(ratioBootstrapT(right, total, { draws, seed: study, level: 0.95 })),
      jackknife: intervalOf(clusterRatio(right, total)),
      logitBellMcCaffrey: robustLogit(right, total, 'bell-mccaffrey'),
      logitSatterthwaite: robustLogit(right, total, 'satterthwaite'),
      kornGraubard: intervalOf(effectiveSizeRatio(right, total, 0.95, 0)),
      effectiveSize: intervalOf(effectiveSizeRatio(right, total)),
    };
  });
}

/**
 * A second recorder on the same body. `adds`: what the first has right the second has right too with a probability of the
 * volunteer's own, 98.5 % on average; the first's mistakes are the second's. `own`: half of the volunteers' mistakes are
 * shared, the others have an own draw from the population; 0.5 % are lost on top.
 */
export type SecondRecorder = 'adds' | 'own';

const kept: Readonly<Record<SecondRecorder, number>> = { adds: 0.985, own: 0.995 };

function rightWithSecond(kind: SecondRecorder, first: number, total: number, of: Population, random: Random): number {
  if (kind === 'adds') return binomial(random, first, beta(random, kept.adds, 40));
  return binomial(random, random.uniform() < 0.5 ? first : of.right(random, total), kept.own);
}

/** The paired difference of two recorders. */
export function simulateDifferences(given: CoverageCase & { readonly second: SecondRecorder }): Record<string, Held> {
  const { volunteers, population, studies, draws, seed } = given;
  const random = randomFromNumber(seed);
  return tally(studies, population.truth * (1 - kept[given.second]), study => {
    const total = new Float64Array(volunteers);
    const first = new Float64Array(volunteers);
    const second = new Float64Array(volunteers);
    for (let v = 0; v < volunteers; v++) {
      total[v] = drawTotal(random);
      first[v] = population.right(random, total[v]!);
      second[v] = rightWithSecond(given.second, first[v]!, total[v]!, population, random);
    }
    const difference = pairedDifference(pooledRatio(first, total), pooledRatio(second, total));
    const boot = clusterBootstrap(volunteers, difference, { draws, seed: study, level: 0.95 });
    const of = (parts: Float64Array) => ({ parts, wholes: total });
    return {
      ...bootstrapIntervals(boot),
      bootstrapT: intervalOf(differenceBootstrapT(of(first), of(second), { draws, seed: study, level: 0.95 })),
      jackknife: intervalOf(clusterJackknife(volunteers, difference)),
      effectiveSize: intervalOf(effectiveSizeDifference(of(first), of(second))),
    };
  });
}

function bootstrapIntervals(boot: ReturnType<typeof clusterBootstrap>) {
  const { percentile, expandedPercentile, bca, expandedBca } =
    boot.value === null ? { percentile: null, expandedPercentile: null, bca: null, expandedBca: null } : boot;
  return { percentile, expandedPercentile, bca, expandedBca };
}
