import type { ReportData } from '../core/report/report';
import type { Cell } from '../formats/csv/csv';

/** Cells that several tables of a report have in common. */

type Result = { readonly value: number | null; readonly reason?: string };
export const reasonOf = (r: Result) => (r.value === null ? (r.reason ?? '') : '');
export const limits = (i: readonly [number, number] | null | undefined): [Cell, Cell] =>
  i ? [i[0], i[1]] : [null, null];
export const all = (activity: string | null) => activity ?? 'all';

type Boot = ReportData['numbers']['quality'][number]['pooledBootstrap'];

export function bootCells(b: Boot): Cell[] {
  if (b.value === null) return bootHead('').map(() => null);
  const { percentile, bca, expandedPercentile, expandedBca } = b;
  return [b.value, ...[percentile, bca, expandedPercentile, expandedBca].flatMap(limits)];
}
export const bootHead = (name: string) =>
  ['', ...['percentile', 'bca', 'expanded_percentile', 'expanded_bca'].flatMap(i => [`_${i}_low`, `_${i}_high`])].map(
    end => name + end,
  );
