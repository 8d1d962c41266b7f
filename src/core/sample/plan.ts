import type { Marks } from '../marks/markset';
import { mostStretches, type SamplePlan } from '../marks/sampling';
import type { Segment } from '../recording/recording';
import type { Span } from '../units';
import { drawingOrder } from './order';
import type { Population } from './population';
import {
  boundsOf,
  classesByRank,
  classShares,
  classWeights,
  cutIntoStretches,
  type Suspected,
  summedSuspicion,
} from './stretches';

export interface PlanInput {
  readonly segment: string | null;
  readonly seed: number;
  readonly stretchSeconds: number;
  readonly contextSeconds: number;
  readonly halfWidth: number | null;
  /** The segments sampled. */
  readonly segments: readonly Segment[];
  readonly samplingRateHz: number;
  readonly detected: Marks;
  readonly second: Marks | null;
  readonly suspected: readonly Suspected[];
}

/** Throws a RangeError when the segments overlap, hold nothing, or are too long for a plan. */
export function planSample(input: PlanInput): SamplePlan {
  const { segment, seed, stretchSeconds, contextSeconds, halfWidth, samplingRateHz } = input;
  const seconds = input.segments.reduce((sum, s) => sum + s.end - s.start, 0) / samplingRateHz;
  if (seconds > mostStretches * stretchSeconds) {
    throw new RangeError(
      `${(seconds / 86_400).toFixed(1)} days are too long for a sample in stretches of ${stretchSeconds} s: sample a segment of at most ` +
        `${((mostStretches * stretchSeconds) / 86_400).toFixed(1)} days`,
    );
  }
  const stretches = cutIntoStretches(input.segments, samplingRateHz, stretchSeconds);
  if (stretches.length === 0) throw new RangeError('there is nothing to sample: the segments are empty');
  return {
    segment,
    seed,
    stretchSeconds,
    contextSeconds,
    shares: classShares,
    weights: classWeights,
    halfWidth,
    classes: classesByRank(summedSuspicion(stretches, input.suspected)),
    bounds: boundsOf(stretches, input.detected, input.second, samplingRateHz),
  };
}

/** A plan with the stretches it is about, in order of time, and the hidden order in which they are drawn. */
export interface LaidOutPlan {
  readonly plan: SamplePlan;
  readonly segments: readonly Segment[];
  readonly stretches: readonly Span[];
  /** Index of each stretch by its start. */
  readonly places: ReadonlyMap<number, number>;
  readonly population: Population;
  readonly order: Int32Array;
}

export function placesByStart(stretches: readonly Span[]): ReadonlyMap<number, number> {
  return new Map(stretches.map((s, i) => [s.start, i] as const));
}

/** Throws a RangeError when the plan is not of these segments: it has classes and bounds for other stretches. */
export function layOut(plan: SamplePlan, segments: readonly Segment[], samplingRateHz: number): LaidOutPlan {
  const stretches = cutIntoStretches(segments, samplingRateHz, plan.stretchSeconds);
  if (plan.classes.length !== stretches.length || plan.bounds.length !== stretches.length) {
    throw new RangeError(`the plan is for ${plan.classes.length} stretches, and there are ${stretches.length}`);
  }
  if (plan.classes.some(h => plan.weights[h] === undefined))
    throw new RangeError('the plan has a class without a weight');
  const population: Population = {
    stretches: plan.bounds.map((bound, i) => ({ bound, group: plan.classes[i]! })),
    weights: plan.weights,
  };
  return {
    plan,
    segments,
    stretches,
    places: placesByStart(stretches),
    population,
    order: drawingOrder(population, plan.seed),
  };
}
