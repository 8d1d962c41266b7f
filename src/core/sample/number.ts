import type { Segment } from '../recording/recording';
import { type Computed, type Interval, notComputable } from '../score/result';
import { type LaidOutPlan, placesByStart } from './plan';
import type { Step } from './population';
import { SampledQuality } from './sampled-quality';

/** How the interval is found, and where that comes from. */
export const sampledIntervalMethod =
  '95 % confidence sequence by betting, without replacement, valid whenever one stops (Waudby-Smith & Ramdas 2020, 2024; weighted draws: Shekhar et al. 2023; Ville 1939; ratio inverted with means by class)';

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
  /** Intervals of all stretches together, as estimated; 0 without an estimate. */
  readonly intervals: number;
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
  return new RunningSample(laidOut, segment).after(steps);
}

/** The number after so many stretches, in percent. */
export interface SampledPoint {
  readonly reviewed: number;
  readonly estimate: number | null;
  readonly interval: Interval;
}

/** Points of a way that is replayed as a whole; stretches after it have one each. */
const pointsOfReplay = 150;

/** The number as a review goes on: steps that only grew are added, changed ones are replayed. */
export class RunningSample {
  private readonly laidOut: LaidOutPlan;
  private readonly segment: string | null;
  private quality: SampledQuality;
  private steps: readonly Step[] = [];
  private points: readonly SampledPoint[] = [];
  private readonly tracked: boolean;

  /** `tracked` when the points of the way are asked for. */
  constructor(laidOut: LaidOutPlan, segment: string | null, tracked = false) {
    this.laidOut = laidOut;
    this.segment = segment;
    this.tracked = tracked;
    this.quality = new SampledQuality(laidOut.population);
  }

  /** The number after these steps; null for steps that could not be counted. */
  after(steps: readonly Step[] | null): SampledNumber {
    if (!steps) return this.uncounted();
    if (!this.steps.every((s, i) => same(s, steps[i]))) {
      this.quality = new SampledQuality(this.laidOut.population);
      this.steps = [];
      this.points = [];
    }
    this.add(steps.slice(this.steps.length));
    this.steps = steps;
    return this.number();
  }

  /** How the number came about, stretch by stretch of a short way; empty unless tracked. */
  get track(): readonly SampledPoint[] {
    return this.points;
  }

  private add(steps: readonly Step[]): void {
    const every = Math.max(1, Math.floor(steps.length / pointsOfReplay));
    const added: SampledPoint[] = [];
    for (const [i, step] of steps.entries()) {
      this.quality.add(step);
      if (this.tracked && (i % every === 0 || i === steps.length - 1)) added.push(this.point());
    }
    if (added.length > 0) this.points = [...this.points, ...added];
  }

  private point(): SampledPoint {
    const { estimate, interval, drawn, known } = this.quality.share();
    return {
      reviewed: drawn + known,
      estimate: estimate === null ? null : 100 * estimate,
      interval: [100 * interval[0], 100 * interval[1]],
    };
  }

  private uncounted(): SampledNumber {
    return { ...this.number(), quality: notComputable('no readable beat'), interval95: null, reached: false };
  }

  private number(): SampledNumber {
    const { plan, stretches } = this.laidOut;
    const { estimate, interval, drawn, known, skipped, exact, boundFactor, intervals } = this.quality.share();
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
      intervals,
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
  const stretches = inside.map(i => laidOut.stretches[i]!);
  return {
    plan: laidOut.plan,
    segments: [segment],
    stretches,
    places: placesByStart(stretches),
    population: { ...laidOut.population, stretches: inside.map(i => laidOut.population.stretches[i]!) },
    order: Int32Array.from([...laidOut.order].flatMap(i => place.get(i) ?? [])),
  };
}

/** Steps of a plan as those of the part of it inside a segment. */
export function stepsWithin(laidOut: LaidOutPlan, part: LaidOutPlan, steps: readonly Step[]): Step[] {
  return steps.flatMap(step => {
    const stretch = part.places.get(laidOut.stretches[step.stretch]!.start);
    return stretch === undefined ? [] : [{ ...step, stretch }];
  });
}
