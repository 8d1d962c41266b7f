import type { Segment } from '../recording/recording';
import { type Computed, type Interval, notComputable } from '../score/result';
import type { LaidOutPlan } from './plan';
import type { Step } from './population';
import { SampledQuality } from './sampled-quality';

/** Quality of a recording or segment from a sample, with all that must stand beside it. */
export interface SampledNumber {
  /** What it is of; null for all segments the plan covers. */
  readonly segment: string | null;
  readonly seed: number;
  readonly stretchSeconds: number;
  /** Stretches in all, and those reviewed: drawn and known ones. */
  readonly stretches: number;
  readonly reviewed: number;
  readonly drawn: number;
  readonly known: number;
  readonly skipped: number;
  /** Percent, n = stretches reviewed. */
  readonly quality: Computed;
  /** 95 % interval in percent, valid whenever one stops; null with the quality. */
  readonly interval95: Interval | null;
  /** All stretches are reviewed: the number is no estimate any more. */
  readonly exact: boolean;
  /** What the bounds were raised by, because a stretch held more intervals than its bound; 1 when none did. */
  readonly boundFactor: number;
  /** Wanted half-width in percentage points, and whether the interval is as narrow. */
  readonly wantedPoints: number;
  readonly reached: boolean;
  /** Draws needed in all, as far as can be told now. */
  readonly neededDraws: number;
}

/** Half-width wanted when the rater did not choose: 0.5 points where quality is 99 % or better, else 1. */
function wantedHalfWidth({ halfWidth }: { halfWidth: number | null }, estimate: number | null): number {
  return halfWidth ?? (estimate !== null && estimate >= 0.99 ? 0.005 : 0.01);
}

/** The number after the steps; null for steps that could not be counted. */
export function sampledNumber(laidOut: LaidOutPlan, steps: readonly Step[] | null, segment: string | null) {
  const running = new RunningSample(laidOut, segment);
  return steps ? running.after(steps) : running.uncounted();
}

/** The same as a review goes on: steps that only grew are added, changed ones are replayed. */
export class RunningSample {
  private readonly laidOut: LaidOutPlan;
  private readonly segment: string | null;
  private quality: SampledQuality;
  private steps: readonly Step[] = [];

  constructor(laidOut: LaidOutPlan, segment: string | null) {
    this.laidOut = laidOut;
    this.segment = segment;
    this.quality = new SampledQuality(laidOut.population);
  }

  after(steps: readonly Step[]): SampledNumber {
    if (!this.steps.every((s, i) => same(s, steps[i]))) {
      this.quality = new SampledQuality(this.laidOut.population);
      this.steps = [];
    }
    for (const step of steps.slice(this.steps.length)) this.quality.add(step);
    this.steps = steps;
    return this.number();
  }

  uncounted(): SampledNumber {
    return { ...this.number(), quality: notComputable('no readable beat'), interval95: null, reached: false };
  }

  private number(): SampledNumber {
    const { plan, stretches } = this.laidOut;
    const { estimate, interval, drawn, known, skipped, exact, boundFactor } = this.quality.share();
    const wanted = wantedHalfWidth(plan, estimate);
    const reviewed = drawn + known;
    const none = reviewed === 0 ? 'no stretch reviewed yet' : drawn === 0 ? 'no stretch drawn yet' : 'no interval';
    return {
      segment: this.segment,
      seed: plan.seed,
      stretchSeconds: plan.stretchSeconds,
      stretches: stretches.length,
      reviewed,
      drawn,
      known,
      skipped,
      quality: estimate === null ? notComputable(none) : { value: 100 * estimate, n: reviewed },
      interval95: estimate === null ? null : [100 * interval[0], 100 * interval[1]],
      exact,
      boundFactor,
      wantedPoints: 100 * wanted,
      reached: estimate !== null && interval[1] - interval[0] <= 2 * wanted,
      neededDraws: this.quality.needed(wanted),
    };
  }
}

function same(a: Step, b: Step | undefined): boolean {
  return a.stretch === b?.stretch && a.kind === b.kind && a.errors === b.errors && a.intervals === b.intervals;
}

/**
 * The part of a plan inside one segment. The hidden order of all, with the others left out, is a weighted order of these
 * stretches as well, so that a segment has a number and an interval of its own from the same sample.
 */
export function planWithin(laidOut: LaidOutPlan, segment: Segment): LaidOutPlan {
  const inside = laidOut.stretches.flatMap((s, i) => (s.start >= segment.start && s.end <= segment.end ? [i] : []));
  const place = new Map(inside.map((i, k) => [i, k] as const));
  return {
    plan: laidOut.plan,
    segments: [segment],
    stretches: inside.map(i => laidOut.stretches[i]!),
    population: { ...laidOut.population, stretches: inside.map(i => laidOut.population.stretches[i]!) },
    order: Int32Array.from([...laidOut.order].flatMap(i => place.get(i) ?? [])),
  };
}

/** Steps of a plan as those of the part of it inside a segment. */
export function stepsWithin(laidOut: LaidOutPlan, part: LaidOutPlan, steps: readonly Step[]): Step[] {
  const place = new Map(part.stretches.map((s, k) => [s.start, k] as const));
  return steps.flatMap(step => {
    const stretch = place.get(laidOut.stretches[step.stretch]!.start);
    return stretch === undefined ? [] : [{ ...step, stretch }];
  });
}
