/**
 * How often plans made from a pilot asked for enough volunteers, as stored with its script in tests/reference/bootstrap
 * (planning.ts and its result); a test holds the two equal.
 */
import measured from './measured-plans.json' with { type: 'json' };

export interface MeasuredPlans {
  /** Percent of the plans that were made; null where hardly any was. */
  readonly enoughPercent: number | null;
  readonly medianNeeded: number | null;
  /** Percent of the pilots that gave no plan. */
  readonly noPlanPercent: number | null;
}

export interface MeasuredPlanCase {
  readonly what: string;
  readonly population: string;
  /** Volunteers of the pilot. */
  readonly pilot: number;
  /** The pilot taken as the population. */
  readonly plain: MeasuredPlans;
  /** With the upper limit of the pilot's spread. */
  readonly upperLimit: MeasuredPlans;
}

export const measuredPlans: {
  /** Pilots a case. */
  readonly pilots: number;
  /** As many of them for the median. */
  readonly pilotsForMedian: number;
  /** Volunteers that are enough. */
  readonly enough: number;
  readonly mostVolunteers: number;
  readonly cells: readonly MeasuredPlanCase[];
} = measured;

/**
 * Lowest and highest percentage over the cases whose pilot is nearest to one of this size, in whole numbers; and the
 * median number asked for, in the middle one of these cases (null: more than were tried).
 */
export function enoughOf100(volunteers: number): {
  readonly pilot: number;
  readonly low: number;
  readonly high: number;
  readonly asked: number | null;
} {
  const apart = (c: MeasuredPlanCase) => Math.abs(c.pilot - volunteers);
  const cells = measuredPlans.cells.filter(c => c.upperLimit.enoughPercent !== null);
  const { pilot } = cells.reduce((best, c) => (apart(c) < apart(best) ? c : best));
  const near = cells.filter(c => c.pilot === pilot).map(c => c.upperLimit);
  const found = near.flatMap(c => c.enoughPercent ?? []);
  const asked = near.map(c => c.medianNeeded ?? Number.POSITIVE_INFINITY).sort((a, b) => a - b)[near.length >> 1]!;
  return {
    pilot,
    low: Math.floor(Math.min(...found)),
    high: Math.floor(Math.max(...found)),
    asked: Number.isFinite(asked) ? asked : null,
  };
}
