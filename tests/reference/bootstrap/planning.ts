/**
 * How often a plan made from a pilot asks for enough volunteers. The width wanted is that which 80 of 100 studies of 20
 * volunteers keep to; a plan is enough when it asks for 20 or more. `plain`: the pilot as if it were the population.
 * Run from the project's root: npx tsx tests/reference/bootstrap/planning.ts > tests/reference/bootstrap/planning.json
 */
import { sortedQuantile } from '../../../src/core/moments';
import { type Random, randomFromNumber } from '../../../src/core/random';
import {
  defaultPlanningSettings,
  type Pilot,
  type Planning,
  type PlanningSettings,
  planDifference,
  planVolunteers,
} from '../../../src/core/report/plans/planning';
import { clusterRatio } from '../../../src/core/score/cluster-ratio';
import { tQuantile } from '../../../src/core/score/distributions';
import { drawTotal, type Population, populations } from './populations';

const shared = { pilots: 400, pilotsForMedian: 100, enough: 20, studies: 100, mostVolunteers: 100, seed: 7 };
const names = ['90 %', '97 %', '99.8 %', '60 % without error', 'one in ten bad'];

function pilot({ right }: Population, volunteers: number, random: Random): Pilot {
  const whole = Array.from({ length: volunteers }, () => drawTotal(random));
  return { whole, right: whole.map(total => right(random, total)) };
}

/** Width, in percentage points, that `assurance` of many studies of 20 keep to. */
function wanted(widthOf: (random: Random) => number): number {
  const random = randomFromNumber(2);
  const widths = Float64Array.from({ length: 2000 }, () => widthOf(random)).sort();
  return sortedQuantile(widths, defaultPlanningSettings.assurance);
}

const qualityWidth = (p: Population) => (random: Random) => {
  const { right, whole } = pilot(p, shared.enough, random);
  const ratio = clusterRatio(right, whole);
  return ratio.value === null || !ratio.interval
    ? Number.POSITIVE_INFINITY
    : 100 * (ratio.interval[1] - ratio.interval[0]);
};

/** Two recorders whose mistakes have nothing to do with each other; the interval that the plan is for. */
const differenceWidth = (p: Population) => (random: Random) => {
  const pilots = [pilot(p, shared.enough, random), pilot(p, shared.enough, random)] as const;
  const [ofA, ofB] = pilots.map(influences) as [number[], number[]];
  const squares = ofA.reduce((sum, u, i) => sum + (u - ofB[i]!) ** 2, 0);
  const { enough: n } = shared;
  return 200 * tQuantile(0.975, n - 1) * Math.sqrt((squares * n) / (n - 1));
};

function influences({ right, whole }: Pilot): number[] {
  const sum = (values: ArrayLike<number>) => Array.from(values).reduce((a, b) => a + b, 0);
  const total = sum(whole);
  const share = sum(right) / total;
  return Array.from(right, (r, i) => (r - share * whole[i]!) / total);
}

type Plan = (random: Random, volunteers: number, settings: PlanningSettings) => Planning;

function cell(what: string, population: Population, volunteers: number, widthPercent: number, plan: Plan) {
  const random = randomFromNumber(shared.seed);
  const { studies } = shared;
  const found = { plain: [] as number[], upperLimit: [] as number[] };
  for (let i = 0; i < shared.pilots; i++) {
    const state = random.uint32();
    // Whether a plan is enough is known without the numbers beyond; how many it asks for is not.
    const mostVolunteers = i < shared.pilotsForMedian ? shared.mostVolunteers : shared.enough;
    for (const [name, spreadConfidence] of [
      ['plain', null],
      ['upperLimit', defaultPlanningSettings.spreadConfidence],
    ] as const) {
      const settings = { ...defaultPlanningSettings, widthPercent, studies, mostVolunteers, spreadConfidence };
      const { volunteers: needed, curve } = plan(randomFromNumber(state), volunteers, settings);
      // No plan at all, as of a pilot without any mistake, is NaN; more than were tried is enough.
      found[name].push(needed.value ?? (curve.length > 0 ? Number.POSITIVE_INFINITY : Number.NaN));
    }
  }
  return {
    what,
    population: population.name,
    pilot: volunteers,
    widthPercent,
    plain: told(found.plain),
    upperLimit: told(found.upperLimit),
  };
}

/** Of fewer plans no share is given. */
const fewestPlans = 20;

function told(needed: readonly number[]) {
  const made = needed.filter(n => !Number.isNaN(n));
  const percent = (n: number, of: number) => (of === 0 ? null : Math.round((1000 * n) / of) / 10);
  const tried = needed.slice(0, shared.pilotsForMedian).filter(n => !Number.isNaN(n));
  const median = tried.sort((a, b) => a - b)[tried.length >> 1];
  return {
    enoughPercent: made.length < fewestPlans ? null : percent(made.filter(n => n >= shared.enough).length, made.length),
    medianNeeded: made.length < fewestPlans || median === undefined || !Number.isFinite(median) ? null : median,
    noPlanPercent: percent(needed.length - made.length, needed.length),
  };
}

const planQuality =
  (p: Population): Plan =>
  (random, volunteers, settings) =>
    planVolunteers(pilot(p, volunteers, random), settings);
const planPaired =
  (p: Population): Plan =>
  (random, volunteers, settings) =>
    planDifference(pilot(p, volunteers, random), pilot(p, volunteers, random), settings);

const cells = names.flatMap(name => {
  const population = populations.find(p => p.name === name)!;
  const widths = { quality: wanted(qualityWidth(population)), difference: wanted(differenceWidth(population)) };
  return [4, 8, 16, 24].flatMap(n => [
    cell('quality', population, n, widths.quality, planQuality(population)),
    cell('difference', population, n, widths.difference, planPaired(population)),
  ]);
});
console.log(JSON.stringify({ ...shared, assurance: defaultPlanningSettings.assurance, cells }, null, 1));
