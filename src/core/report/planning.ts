import { sortedQuantile } from '../moments';
import { randomFromNumber } from '../random';
import { clusterRatioBy } from '../score/cluster-ratio';
import { tQuantile } from '../score/distributions';
import { type Computed, notComputable } from '../score/result';

const planningMethod =
  'studies of n volunteers drawn with replacement from the volunteers at hand; width of the jackknife interval for the pooled quality (clustered proportion, logit scale)';

export interface PlanningSettings {
  /** Wanted width of the interval, in percentage points from end to end. */
  readonly widthPercent: number;
  /** Share of simulated studies that must be no wider: 0.8 is usual. */
  readonly assurance: number;
  readonly level: number;
  /** Simulated studies for each number of volunteers. */
  readonly studies: number;
  readonly seed: number;
  readonly mostVolunteers: number;
}

export const defaultPlanningSettings: PlanningSettings = {
  widthPercent: 5,
  assurance: 0.8,
  level: 0.95,
  studies: 400,
  seed: 1,
  mostVolunteers: 500,
};

export interface PlanningPoint {
  readonly volunteers: number;
  /** Median width over the simulated studies, in percentage points; null where most have no interval. */
  readonly medianWidthPercent: number | null;
  /** Share of the studies that are no wider than wanted. */
  readonly shareWithin: number;
}

export interface Planning {
  readonly method: string;
  readonly settings: PlanningSettings;
  /** Volunteers needed; n = volunteers at hand. */
  readonly volunteers: Computed;
  /** Widths for a range of numbers, for the figure. */
  readonly curve: readonly PlanningPoint[];
}

const grid = [4, 6, 8, 10, 12, 15, 20, 25, 30, 40, 50, 75, 100, 150, 200, 300, 500];

/** How many volunteers a wanted interval width takes, judged by `right` of `whole` intervals of each volunteer at hand. */
export function planVolunteers(
  right: ArrayLike<number>,
  whole: ArrayLike<number>,
  settings: PlanningSettings = defaultPlanningSettings,
): Planning {
  const used = Array.from({ length: whole.length }, (_, i) => i).filter(i => whole[i]! > 0);
  const answer = (volunteers: Computed, curve: readonly PlanningPoint[] = []): Planning => ({
    method: planningMethod,
    settings,
    volunteers,
    curve,
  });
  if (used.length < 3) return answer(notComputable('needs three volunteers at hand'));
  const proportions = new Set(used.map(i => right[i]! / whole[i]!));
  if (proportions.size === 1) return answer(notComputable('the volunteers at hand do not differ'));
  const at = (values: ArrayLike<number>) => used.map(i => values[i]!);
  const point = (volunteers: number) => simulate(at(right), at(whole), volunteers, settings);
  const curve = grid.filter(n => n <= settings.mostVolunteers).map(point);
  const enough = curve.findIndex(p => p.shareWithin >= settings.assurance);
  if (enough < 0) return answer(notComputable(`more than ${settings.mostVolunteers} volunteers`), curve);
  const low = enough > 0 ? curve[enough - 1]!.volunteers : 2;
  return answer({ value: fewest(point, low, curve[enough]!.volunteers, settings.assurance), n: used.length }, curve);
}

/** Fewest volunteers in (low, high] that are enough; `high` is. */
function fewest(point: (n: number) => PlanningPoint, low: number, high: number, assurance: number): number {
  if (high - low <= 1) return high;
  const middle = (low + high) >> 1;
  return point(middle).shareWithin >= assurance
    ? fewest(point, low, middle, assurance)
    : fewest(point, middle, high, assurance);
}

function simulate(
  right: readonly number[],
  whole: readonly number[],
  volunteers: number,
  settings: PlanningSettings,
): PlanningPoint {
  const random = randomFromNumber(settings.seed);
  const drawnRight = new Float64Array(volunteers);
  const drawnWhole = new Float64Array(volunteers);
  const widths = new Float64Array(settings.studies);
  const t = tQuantile(0.5 + settings.level / 2, volunteers - 1);
  let within = 0;
  for (let study = 0; study < settings.studies; study++) {
    for (let v = 0; v < volunteers; v++) {
      const i = random.integer(whole.length);
      drawnRight[v] = right[i]!;
      drawnWhole[v] = whole[i]!;
    }
    const ratio = clusterRatioBy(drawnRight, drawnWhole, settings.level, () => t);
    const interval = ratio.value === null ? null : ratio.interval;
    widths[study] = interval ? 100 * (interval[1] - interval[0]) : Number.POSITIVE_INFINITY;
    if (widths[study]! <= settings.widthPercent) within++;
  }
  const median = sortedQuantile(widths.sort(), 0.5);
  return {
    volunteers,
    medianWidthPercent: Number.isFinite(median) ? median : null,
    shareWithin: within / settings.studies,
  };
}
