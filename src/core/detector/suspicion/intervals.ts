import type { Marks } from '../../marks/markset';
import { firstEndingAfter } from '../../marks/spans';
import type { Span } from '../../units';

/**
 * RR intervals beside their neighbours. Interval i ends at mark i; interval 0 does not exist. Local median and
 * quartile deviation after the artefact classes of Lipponen & Tarvainen, J Med Eng Technol 2019;43:173.
 */
export interface IntervalTable {
  /** Samples; 0 for the first mark and where no signal or an unreadable span lies between. */
  readonly rr: Float32Array;
  /** Median of the intervals around, samples; 0 when there are fewer than 3. */
  readonly usual: Float32Array;
  /** Quartile deviation of the intervals around, as a share of their median. */
  readonly spread: Float32Array;
}

/** Intervals on either side. */
export const intervalNeighbours = 10;

export function intervalTable(marks: Marks, blind: readonly Span[]): IntervalTable {
  const n = marks.length;
  const table = { rr: new Float32Array(n), usual: new Float32Array(n), spread: new Float32Array(n) };
  fillIntervals(table, marks, blind);
  fillUsual(table, 0, n);
  return table;
}

/** The table after an edit: `head` and `tail` marks at either end are unchanged, and so are the blind spans there. */
export function updateIntervalTable(
  before: IntervalTable,
  marks: Marks,
  blind: readonly Span[],
  head: number,
  tail: number,
): IntervalTable {
  const n = marks.length;
  const table = { rr: new Float32Array(n), usual: new Float32Array(n), spread: new Float32Array(n) };
  fillIntervals(table, marks, blind);
  for (const key of ['usual', 'spread'] as const) {
    table[key].set(before[key].subarray(0, head));
    if (tail > 0) table[key].set(before[key].subarray(before[key].length - tail), n - tail);
  }
  fillUsual(table, Math.max(0, head - intervalNeighbours - 1), Math.min(n, n - tail + intervalNeighbours + 1));
  return table;
}

function fillIntervals(table: IntervalTable, marks: Marks, blind: readonly Span[]): void {
  let k = 0;
  for (let i = 1; i < marks.length; i++) {
    while (k < blind.length && blind[k]!.end <= marks[i - 1]!) k++;
    const crosses = k < blind.length && blind[k]!.start < marks[i]!;
    table.rr[i] = crosses ? 0 : marks[i]! - marks[i - 1]!;
  }
}

const scratch = new Float32Array(2 * intervalNeighbours + 1);

function fillUsual(table: IntervalTable, from: number, to: number): void {
  for (let i = from; i < to; i++) {
    let n = 0;
    const hi = Math.min(table.rr.length, i + intervalNeighbours + 1);
    for (let k = Math.max(1, i - intervalNeighbours); k < hi; k++) {
      const v = table.rr[k]!;
      if (v === 0) continue;
      let p = n++;
      for (; p > 0 && scratch[p - 1]! > v; p--) scratch[p] = scratch[p - 1]!;
      scratch[p] = v;
    }
    const median = n >= 3 ? at(n, 0.5) : 0;
    table.usual[i] = median;
    table.spread[i] = median > 0 ? (at(n, 0.75) - at(n, 0.25)) / (2 * median) : 0;
  }
}

function at(n: number, q: number): number {
  const position = (n - 1) * q;
  const k = Math.floor(position);
  return scratch[k]! + (position - k) * (scratch[Math.min(k + 1, n - 1)]! - scratch[k]!);
}

/** The blind stretch-free pieces between two samples: where a beat could have been seen. */
export function seenPieces(start: number, end: number, blind: readonly Span[]): [number, number][] {
  const out: [number, number][] = [];
  let from = start;
  for (let k = firstEndingAfter(blind, start); k < blind.length && blind[k]!.start < end; k++) {
    if (blind[k]!.start > from) out.push([from, blind[k]!.start]);
    from = Math.max(from, blind[k]!.end);
  }
  if (from < end) out.push([from, end]);
  return out;
}
