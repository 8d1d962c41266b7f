import { describe, expect, test } from 'vitest';
import { clusteredKappa } from '../../../../src/core/agreement/clustered-kappa';
import { coincidencesOfPairs, fleissKappa } from '../../../../src/core/agreement/coincidence';
import { cohenKappa } from '../../../../src/core/agreement/kappa';
import reference from '../../../reference/agreement/clustered.json';
import coverage from '../../../reference/agreement/kappa-coverage.json';

type Table = readonly (readonly number[])[];
const added = (tables: readonly Table[]) =>
  tables[0]!.map((row, i) => row.map((_, j) => tables.reduce((sum, t) => sum + t[i]![j]!, 0)));

// source: survey::svykappa of R; script beside the stored values
test.each(reference.cases)(
  'kappa and its standard error over clusters, case %#',
  ({ tables, kappa, standardError }) => {
    const found = clusteredKappa(tables);
    if (found.value === null) throw new Error(found.reason);
    expect(found.value).toBeCloseTo(kappa, 10);
    expect(found.value).toBeCloseTo(cohenKappa(added(tables)).value!, 12);
    expect(found.standardError! / standardError).toBeCloseTo(1, 8);
    expect(found.interval![0]).toBeLessThan(kappa);
  },
);

// source: Yang & Zhou 2014 (from memory): with one pair a cluster the variance is that of independent pairs
test('with a single pair in each cluster it is the large-sample variance of independent pairs', () => {
  const table = [
    [30, 5, 1],
    [3, 20, 4],
    [2, 1, 9],
  ];
  const single = table.flatMap((row, i) =>
    row.flatMap((count, j) =>
      Array.from({ length: count }, () => table.map((r, x) => r.map((_, y) => (x === i && y === j ? 1 : 0)))),
    ),
  );
  const [own, plain] = [clusteredKappa(single), cohenKappa(table)];
  if (own.value === null || plain.value === null) throw new Error('no kappa');
  const n = single.length;
  expect(own.standardError! ** 2 * ((n - 1) / n)).toBeCloseTo(plain.standardError ** 2, 12);
});

// source: definition; Fleiss' kappa takes its chance from the shares of all ratings
test('of matrices of coincidences it is Fleiss’ kappa', () => {
  const pairs = reference.cases[1]!.tables.map(t => coincidencesOfPairs([t], 2));
  const found = clusteredKappa(pairs);
  expect(found.value).toBeCloseTo(fleissKappa(added(pairs)), 12);
});

describe('no number, or no interval', () => {
  const even = [
    [9, 1],
    [1, 9],
  ];
  test.each([
    [
      'nothing rated',
      [
        [
          [0, 0],
          [0, 0],
        ],
      ],
      'nothing was rated',
    ],
    [
      'one category',
      [
        [
          [5, 0],
          [0, 0],
        ],
        [
          [7, 0],
          [0, 0],
        ],
      ],
      'chance agreement is 1',
    ],
  ])('%s', (_, tables, why) => {
    expect(clusteredKappa(tables)).toEqual({ value: null, reason: expect.stringContaining(why) });
  });
  test.each([
    [1, 'several volunteers'],
    [3, '4 volunteers'],
    [6, 'no width'],
  ])('%i equal clusters', (clusters, why) => {
    const found = clusteredKappa(Array.from({ length: clusters }, () => even));
    expect(found).toMatchObject({ value: 0.8, clusters, interval: null, intervalReason: expect.stringContaining(why) });
  });
});

// source: the stored result of tests/reference/agreement/kappa-coverage.ts
test('its interval holds the truth in simulated studies about as often as it says, the bootstrap less often in few volunteers', () => {
  for (const { heldPercent, volunteers } of coverage.cells) {
    expect(heldPercent.clustered).toBeGreaterThanOrEqual(90);
    expect(heldPercent.clustered).toBeGreaterThanOrEqual(heldPercent.bootstrap - 1);
    if (volunteers === 4) expect(heldPercent.clustered - heldPercent.bootstrap).toBeGreaterThan(5);
  }
});
