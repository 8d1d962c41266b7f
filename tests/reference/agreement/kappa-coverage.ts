/**
 * How often 95 % intervals of kappa hold the truth when verdicts come by volunteer: over clusters in closed form, by the
 * bootstrap over volunteers, and with marks taken as independent. Run from the project's root:
 * npx tsx tests/reference/agreement/kappa-coverage.ts > tests/reference/agreement/kappa-coverage.json
 */
import { clusteredKappa } from '../../../src/core/agreement/clustered-kappa';
import { cohenKappa } from '../../../src/core/agreement/kappa';
import { type Random, randomFromNumber } from '../../../src/core/random';
import { clusterBootstrap } from '../../../src/core/score/bootstrap';
import { beta } from '../bootstrap/random-variates';

const shared = { studies: 200, draws: 200, marks: 300, seed: 3 };
const sizes = [4, 8, 12, 24];

/** Wrong marks of a volunteer, as mean and spread of a beta distribution, and the share of them that a rater overlooks. */
const populations = [
  {
    name: 'volunteers alike',
    description: '5 % of marks wrong in each, 15 % of them overlooked',
    wrong: [0.05, 10_000],
    missed: 0.15,
  },
  {
    name: 'volunteers differ',
    description: 'wrong marks beta(1, 19), 15 % overlooked',
    wrong: [0.05, 20],
    missed: 0.15,
  },
  {
    name: 'hard volunteers',
    description: 'wrong marks beta(0.5, 9.5), 40 % overlooked',
    wrong: [0.05, 10],
    missed: 0.4,
  },
] as const;

type Table = number[][];

/** Two raters' verdicts (kept, moved, removed) on the marks of one volunteer. */
function volunteer({ wrong: [mean, spread], missed }: (typeof populations)[number], random: Random): Table {
  const share = beta(random, mean, spread);
  const table = [0, 1, 2].map(() => [0, 0, 0]);
  for (let m = 0; m < shared.marks; m++) {
    const truth = random.uniform() < share ? (random.uniform() < 0.7 ? 1 : 2) : 0;
    const verdict = () => (truth > 0 ? (random.uniform() < missed ? 0 : truth) : random.uniform() < 0.002 ? 1 : 0);
    table[verdict()]![verdict()]!++;
  }
  return table;
}

const added = (tables: readonly Table[]) =>
  tables[0]!.map((row, i) => row.map((_, j) => tables.reduce((s, t) => s + t[i]![j]!, 0)));
const kappaOf = (tables: readonly Table[]) => cohenKappa(added(tables)).value ?? Number.NaN;

/** Kappa of the population: that of very many volunteers. */
function truthOf(population: (typeof populations)[number]): number {
  const random = randomFromNumber(99);
  return kappaOf(Array.from({ length: 3000 }, () => volunteer(population, random)));
}

function cell(population: (typeof populations)[number], volunteers: number, truth: number) {
  const held = { clustered: 0, bootstrap: 0, independent: 0 };
  const none = { clustered: 0, bootstrap: 0, independent: 0 };
  const random = randomFromNumber(shared.seed + volunteers);
  const count = (name: keyof typeof held, interval: readonly number[] | null | undefined) => {
    if (!interval) none[name]++;
    else if (interval[0]! <= truth && truth <= interval[1]!) held[name]++;
  };
  for (let s = 0; s < shared.studies; s++) {
    const tables = Array.from({ length: volunteers }, () => volunteer(population, random));
    const [own, plain] = [clusteredKappa(tables), cohenKappa(added(tables))];
    const boot = clusterBootstrap(
      volunteers,
      times => kappaOf(tables.flatMap((table, i) => Array.from({ length: times[i]! }, () => table))),
      {
        draws: shared.draws,
        seed: s + 1,
        level: 0.95,
      },
    );
    count('clustered', own.value === null ? null : own.interval);
    count('bootstrap', boot.value === null ? null : boot.expandedBca);
    count('independent', plain.value === null ? null : plain.interval);
  }
  const share = (n: number) => Math.round((1000 * n) / shared.studies) / 10;
  const percent = (of: typeof held) => Object.fromEntries(Object.entries(of).map(([name, n]) => [name, share(n)]));
  return {
    population: population.name,
    volunteers,
    truth,
    heldPercent: percent(held),
    noIntervalPercent: percent(none),
  };
}

const cells = populations.flatMap(p => {
  const truth = truthOf(p);
  return sizes.map(n => cell(p, n, truth));
});
console.log(JSON.stringify({ ...shared, level: 0.95, populations, cells }, null, 1));
