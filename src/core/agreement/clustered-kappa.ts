import { tQuantile } from '../score/distributions';
import { type Interval, notComputable } from '../score/result';

/** Kappa of tables that come in clusters, or the reason why there is none. */
export type ClusteredKappa =
  | {
      readonly value: number;
      /** Sum of the tables. */
      readonly n: number;
      readonly clusters: number;
      /** Null with a single cluster. */
      readonly standardError: number | null;
      /** Clipped to [-1, 1]; null where `intervalReason` says why. */
      readonly interval: Interval | null;
      readonly intervalReason?: string;
    }
  | { readonly value: null; readonly reason: string };

type Table = readonly (readonly number[])[];

/** Fewer clusters say too little about how they vary. */
const fewestClusters = 4;

/** Variant and source, for the report. */
export const clusteredKappaMethod =
  'delta method over clusters with K / (K - 1) and the t quantile for K - 1 degrees of freedom (Yang & Zhou, Stat Med 2014;33:2612)';

/**
 * Unweighted kappa of all tables together, k x k each, one a cluster (a volunteer), with the variance of clustered matched
 * pairs (Yang & Zhou, Stat Med 2014;33:2612): no shape of the dependence within a cluster is assumed. Of agreement tables
 * of two raters this is Cohen's kappa; of matrices of coincidences, Fleiss'. Clusters without anything rated are left out.
 */
export function clusteredKappa(tables: readonly Table[], level = 0.95): ClusteredKappa {
  const sums = tables.map(total);
  const used = tables.filter((_, i) => sums[i]! > 0);
  const n = sums.reduce((a, b) => a + b, 0);
  if (used.length === 0) return notComputable('nothing was rated by both raters');
  const k = used[0]!.length;
  const share = grid(k, (i, j) => used.reduce((sum, t) => sum + t[i]![j]!, 0) / n);
  const rows = share.map(row => row.reduce((a, b) => a + b, 0));
  const columns = rows.map((_, j) => share.reduce((sum, row) => sum + row[j]!, 0));
  const chance = rows.reduce((sum, r, i) => sum + r * columns[i]!, 0);
  if (chance > 1 - 1e-12)
    return notComputable('one and the same category was used throughout, so chance agreement is 1');
  const observed = share.reduce((sum, row, i) => sum + row[i]!, 0);
  const value = (observed - chance) / (1 - chance);
  // How kappa changes with the share of each cell.
  const slope = grid(
    k,
    (i, j) => ((i === j ? 1 - chance : 0) - (1 - observed) * (columns[i]! + rows[j]!)) / (1 - chance) ** 2,
  );
  const residuals = used.map(t => {
    const own = total(t);
    return (
      share.reduce((sum, row, i) => sum + row.reduce((s, p, j) => s + slope[i]![j]! * (t[i]![j]! - own * p), 0), 0) / n
    );
  });
  return { value, n, clusters: used.length, ...spread(value, residuals, level) };
}

function spread(value: number, residuals: readonly number[], level: number) {
  const clusters = residuals.length;
  if (clusters < 2)
    return { standardError: null, interval: null, intervalReason: 'an interval needs several volunteers' };
  const squares = residuals.reduce((sum, u) => sum + u * u, 0);
  const standardError = Math.sqrt((squares * clusters) / (clusters - 1));
  if (clusters < fewestClusters) {
    return { standardError, interval: null, intervalReason: `an interval needs ${fewestClusters} volunteers` };
  }
  if (standardError < 1e-9) {
    return {
      standardError: 0,
      interval: null,
      intervalReason: 'the volunteers agree in every share: the method has no width then',
    };
  }
  const half = tQuantile(0.5 + level / 2, clusters - 1) * standardError;
  const interval: Interval = [Math.max(-1, value - half), Math.min(1, value + half)];
  return { standardError, interval };
}

const total = (table: Table) => table.reduce((sum, row) => sum + row.reduce((a, b) => a + b, 0), 0);

const grid = (k: number, cell: (i: number, j: number) => number) =>
  Array.from({ length: k }, (_, i) => Array.from({ length: k }, (__, j) => cell(i, j)));
