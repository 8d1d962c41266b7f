import type { UndoCell } from '../../../../src/core/marks/log';

/** The numbers on a stack of entries, lowest first. */
export function seqsOf(stack: UndoCell | null): number[] {
  const seqs: number[] = [];
  for (let cell = stack; cell; cell = cell.below) seqs.unshift(cell.seq);
  return seqs;
}
