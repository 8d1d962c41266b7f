import { sortedQuantile } from '../../moments';
import { copyDraw, resampledCounts, type Times } from '../../score/bootstrap';
import { clusterRatioWidth } from '../../score/cluster-ratio';
import { tQuantile } from '../../score/distributions';
import { type Computed, notComputable } from '../../score/result';
import { upperLimitOfPilot } from './spread-limits';

const upperLimit =
  'volunteers at hand drawn with replacement, widths enlarged to the upper limit of their standard deviation, one-sided (Browne, Stat Med 1995;14:1933, with degrees of freedom by the kurtosis of the values after Box, Biometrika 1953;40:318, from memory; where it is higher, Bonett, Comput Stat Data Anal 2006;50:775) and by √(m/(m − 1)), as m drawn with replacement vary less than whom they stand for; no plan from few volunteers with hardly any mistake';

/** Variants and sources, for the report. */
const widths = {
  quality: 'width of the jackknife interval for the pooled quality (clustered proportion, logit scale)',
  difference: 'width of the linearized interval for the difference of two pooled qualities of the same volunteers',
} as const;
export const planningMethods = {
  quality: `${upperLimit}; ${widths.quality}`,
  difference: `${upperLimit}; ${widths.difference}`,
  /** What both have in common, and what each adds. */
  drawn: upperLimit,
  widths,
} as const;

export interface PlanningSettings {
  /** Wanted width of the interval, in percentage points from end to end. */
  readonly widthPercent: number;
  /** Share of simulated studies that must be no wider: 0.8 is usual. */
  readonly assurance: number;
  /** One-sided confidence of the upper limit of the pilot's spread; null takes the pilot as if it were the population. */
  readonly spreadConfidence: number | null;
  readonly level: number;
  /** Simulated studies for each number of volunteers. */
  readonly studies: number;
  readonly seed: number;
  readonly mostVolunteers: number;
}

export const defaultPlanningSettings: PlanningSettings = {
  widthPercent: 5,
  assurance: 0.8,
  spreadConfidence: 0.95,
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
  /** The number is the smallest that was tried: fewer may do. */
  readonly orFewer: boolean;
  /** Widths for a range of numbers, for the figure. */
  readonly curve: readonly PlanningPoint[];
}

/** Of each volunteer at hand, `right` of `whole` intervals. */
export interface Pilot {
  readonly right: ArrayLike<number>;
  readonly whole: ArrayLike<number>;
}

const grid = [4, 6, 8, 10, 12, 15, 20, 25, 30, 40, 50, 75, 100, 150, 200, 300, 500];

/** Width of a study's interval as a fraction, each volunteer at hand in it some times; `t`: half-width in standard errors. */
type WidthOf = (times: Times, t: number) => number;

/** How many volunteers a wanted interval width takes, judged by the quality of the volunteers at hand. */
export function planVolunteers(pilot: Pilot, settings = defaultPlanningSettings): Planning {
  const used = indices(pilot.whole.length).filter(i => pilot.whole[i]! > 0);
  const { right, whole } = only(pilot, used);
  const values = used.map((_, i) => right[i]! / whole[i]!);
  const pilots = [{ right, whole }];
  return planBy(planningMethods.quality, pilots, values, settings, (times, t) =>
    clusterRatioWidth(right, whole, times, t),
  );
}

/** The same for the difference of two recorders worn by the same volunteers, who come in the same order in both. */
export function planDifference(a: Pilot, b: Pilot, settings = defaultPlanningSettings): Planning {
  const used = indices(a.whole.length).filter(i => a.whole[i]! > 0 && b.whole[i]! > 0);
  const [ofA, ofB] = [only(a, used), only(b, used)];
  const values = used.map((_, i) => ofA.right[i]! / ofA.whole[i]! - ofB.right[i]! / ofB.whole[i]!);
  return planBy(planningMethods.difference, [ofA, ofB], values, settings, (times, t) => {
    const [totalA, totalB] = [totalOf(ofA, times), totalOf(ofB, times)];
    let n = 0;
    let squares = 0;
    for (let i = 0; i < times.length; i++) {
      if (times[i] === 0) continue;
      const apart = influence(ofA, totalA, i) - influence(ofB, totalB, i);
      n += times[i]!;
      squares += times[i]! * apart * apart;
    }
    return squares > 0 ? 2 * t * Math.sqrt((squares * n) / (n - 1)) : Number.POSITIVE_INFINITY;
  });
}

interface Totals {
  readonly whole: number;
  readonly share: number;
}

function totalOf({ right, whole }: Pilot, times: Times): Totals {
  let [part, all] = [0, 0];
  for (let i = 0; i < times.length; i++) {
    part += times[i]! * right[i]!;
    all += times[i]! * whole[i]!;
  }
  return { whole: all, share: part / all };
}

/** What a volunteer adds to the pooled share, to the first order. */
function influence({ right, whole }: Pilot, total: Totals, i: number): number {
  return (right[i]! - total.share * whole[i]!) / total.whole;
}

function only({ right, whole }: Pilot, used: readonly number[]) {
  return { right: Float64Array.from(used, i => right[i]!), whole: Float64Array.from(used, i => whole[i]!) };
}

const indices = (length: number) => Array.from({ length }, (_, i) => i);

function planBy(
  method: string,
  pilots: readonly Pilot[],
  values: readonly number[],
  settings: PlanningSettings,
  widthOf: WidthOf,
): Planning {
  const atHand = values.length;
  const answer = (volunteers: Computed, curve: readonly PlanningPoint[] = [], orFewer = false): Planning => ({
    method,
    settings,
    volunteers,
    orFewer,
    curve,
  });
  if (atHand < 3) return answer(notComputable('needs three volunteers at hand'));
  if (new Set(values).size === 1) return answer(notComputable('the volunteers at hand do not differ'));
  const { spreadConfidence } = settings;
  const tooFew = spreadConfidence === null ? null : tooFewMistakes(pilots, atHand, settings);
  if (tooFew !== null) return answer(notComputable(tooFew));
  const stretch = spreadConfidence === null ? 1 : stretchOf(values, spreadConfidence);
  const point = (volunteers: number) => simulate(atHand, volunteers, stretch, settings, widthOf);
  const curve = grid.filter(n => n <= settings.mostVolunteers).map(point);
  const enough = curve.findIndex(p => p.shareWithin >= settings.assurance);
  if (enough < 0) return answer(notComputable(`more than ${settings.mostVolunteers} volunteers`), curve);
  const high = curve[enough]!.volunteers;
  if (enough === 0) return answer({ value: high, n: atHand }, curve, true);
  const low = curve[enough - 1]!.volunteers;
  return answer({ value: fewest(point, low, high, settings.assurance), n: atHand }, curve);
}

/** By how much widths of studies that are drawn from a pilot are enlarged. */
function stretchOf(values: readonly number[], confidence: number): number {
  const { length } = values;
  return upperLimitOfPilot(values, confidence) * Math.sqrt(length / (length - 1));
}

/** Volunteers of another kind that a pilot should see, as a share of all. */
const minority = 0.1;
/** With at least this share of right intervals one volunteer of another kind would make nearly all of the spread. */
const hardlyAnyMistake = 0.99;

/** Fewest volunteers among whom there is one of the minority with this probability. */
const fewestToSee = (assurance: number) => Math.ceil(Math.log(1 - assurance) / Math.log(1 - minority));

/** Why a pilot cannot bear a plan although its volunteers differ; null where it can. */
function tooFewMistakes(pilots: readonly Pilot[], atHand: number, { assurance }: PlanningSettings): string | null {
  const least = fewestToSee(assurance);
  const shareOf = ({ right, whole }: Pilot) => sumOf(right) / sumOf(whole);
  if (atHand >= least || pilots.every(p => shareOf(p) < hardlyAnyMistake)) return null;
  return `too few volunteers for so few mistakes (at most 1 wrong interval in 100): if one volunteer in ten has many, ${atHand} volunteers may well include none of these; at least ${least} volunteers are needed`;
}

const sumOf = (values: ArrayLike<number>) => Array.from(values).reduce((a, b) => a + b, 0);

/** Fewest volunteers in (low, high] that are enough; `high` is. */
function fewest(point: (n: number) => PlanningPoint, low: number, high: number, assurance: number): number {
  if (high - low <= 1) return high;
  const middle = (low + high) >> 1;
  return point(middle).shareWithin >= assurance
    ? fewest(point, low, middle, assurance)
    : fewest(point, middle, high, assurance);
}

function simulate(
  atHand: number,
  volunteers: number,
  stretch: number,
  settings: PlanningSettings,
  widthOf: WidthOf,
): PlanningPoint {
  const all = resampledCounts(atHand, volunteers, settings.studies, settings.seed);
  const times = new Int32Array(atHand);
  const widths = new Float64Array(settings.studies);
  const t = stretch * tQuantile(0.5 + settings.level / 2, volunteers - 1);
  let within = 0;
  for (let study = 0; study < settings.studies; study++) {
    copyDraw(all, study, times);
    widths[study] = 100 * widthOf(times, t);
    if (widths[study]! <= settings.widthPercent) within++;
  }
  const median = sortedQuantile(widths.sort(), 0.5);
  return {
    volunteers,
    medianWidthPercent: Number.isFinite(median) ? median : null,
    shareWithin: within / settings.studies,
  };
}
