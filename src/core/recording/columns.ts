import { firstPieceAfter, type Pieces } from './pieces';
import { baseSamples, fanOut, type Pyramid } from './pyramid';
import type { SampleArray } from './recording';

/** Words of a stretch: `words[0]` is sample `start` of the lead. What stands where nothing was recorded is not looked at. */
export interface RawStretch {
  readonly start: number;
  readonly words: SampleArray;
}

/**
 * Minimum and maximum of each column, in stored words. NaN where a column has no value, as in a gap. Made once, filled per
 * frame.
 */
export interface Columns {
  /** Columns filled by the last call. */
  count: number;
  readonly min: Float64Array;
  readonly max: Float64Array;
  /** Column `c` covers samples `[edges[c], edges[c + 1])`; `count + 1` values. */
  readonly edges: Int32Array;
}

export function createColumns(capacity: number): Columns {
  return {
    count: 0,
    min: new Float64Array(capacity),
    max: new Float64Array(capacity),
    edges: new Int32Array(capacity + 1),
  };
}

/** Above this many samples a column, edges on whole pyramid items are less than a quarter of a column off. */
const rawBelowSamplesPerColumn = 4 * baseSamples;

/** Whether `columns` needs the stored words of `[start, end)` for edges that are exact to the sample. */
export function needsRaw(start: number, end: number, columnCount: number): boolean {
  return (end - start) / columnCount < rawBelowSamplesPerColumn;
}

/**
 * Fills `out` with minima and maxima of `columnCount` columns over `[start, end)`, clipped to the lead. Values are exact
 * for the edges given back. With `raw` covering the stretch, edges are exact to the sample and whole pyramid items inside a
 * column are taken from the pyramid; without it, edges lie between pyramid items, every 64 samples from where a piece
 * begins, and zooming in closer than that gives fewer columns.
 */
export function columns(
  pyramid: Pyramid,
  raw: RawStretch | null,
  start: number,
  end: number,
  columnCount: number,
  out: Columns,
): void {
  const from = Math.max(0, Math.floor(start));
  const to = Math.min(pyramid.sampleCount, Math.ceil(end));
  out.count = 0;
  if (to <= from || columnCount < 1) return;
  const exact = raw !== null && raw.start <= from && raw.start + raw.words.length >= to;
  setEdges(out, exact ? null : pyramid.pieces, from, to, columnCount);
  for (let c = 0; c < out.count; c++) {
    clear(found);
    overColumn(pyramid, exact ? raw : null, out.edges[c]!, out.edges[c + 1]!);
    out.min[c] = found.lo <= found.hi ? found.lo : Number.NaN;
    out.max[c] = found.lo <= found.hi ? found.hi : Number.NaN;
  }
}

/** Evenly spaced edges, moved to where pyramid items meet if `pieces` are given; a column that would be empty is left out. */
function setEdges(out: Columns, pieces: Pieces | null, from: number, to: number, columnCount: number): void {
  const width = (to - from) / columnCount;
  const { edges } = out;
  edges[0] = pieces ? itemEdge(pieces, from, Math.floor) : from;
  for (let c = 1; c <= columnCount; c++) {
    const ideal = c === columnCount ? to : from + c * width;
    const edge = pieces ? itemEdge(pieces, ideal, c === columnCount ? Math.ceil : Math.round) : Math.round(ideal);
    if (edge > edges[out.count]!) edges[++out.count] = edge;
  }
}

/** Where pyramid items meet at or beside a sample; anywhere in a gap. */
function itemEdge(pieces: Pieces, sample: number, round: (items: number) => number): number {
  const k = firstPieceAfter(pieces, sample);
  const start = pieces.starts[k];
  if (start === undefined || start >= sample) return Math.round(sample);
  return Math.min(pieces.ends[k]!, start + round((sample - start) / baseSamples) * baseSamples);
}

/** Accumulator of the column at hand: one object, so that a frame allocates nothing. */
const found = { lo: 0, hi: 0 };

function clear(range: typeof found): void {
  range.lo = Number.POSITIVE_INFINITY;
  range.hi = Number.NEGATIVE_INFINITY;
}

/** Whole items from the pyramid, and what is left at both ends from the words; without words, both ends lie between items. */
function overColumn({ levels, pieces, itemsBefore }: Pyramid, raw: RawStretch | null, a: number, b: number): void {
  const { starts, ends } = pieces;
  const p = firstPieceAfter(pieces, a);
  const start = Math.max(a, starts[p] ?? b);
  if (start >= b) return;
  if (levels.length === 0) {
    for (let k = p; raw && k < starts.length && starts[k]! < b; k++) {
      overWords(raw, Math.max(a, starts[k]!), Math.min(b, ends[k]!));
    }
    return;
  }
  const skipped = Math.ceil((start - starts[p]!) / baseSamples);
  const q = firstPieceAfter(pieces, b - 1);
  const inside = starts[q] !== undefined && starts[q] < b;
  // The last item of a piece may be short: it is whole where the column reaches the end of the piece.
  const taken = !inside ? 0 : Math[b === ends[q] ? 'ceil' : 'floor']((b - starts[q]!) / baseSamples);
  const first = itemsBefore[p]! + skipped;
  const end = itemsBefore[q]! + taken;
  if (end < first) {
    if (raw) overWords(raw, start, b);
    return;
  }
  if (raw) overWords(raw, start, Math.min(ends[p]!, starts[p]! + skipped * baseSamples));
  overItems(levels, first, end);
  if (raw && inside) overWords(raw, starts[q]! + taken * baseSamples, b);
}

function overWords({ words, start }: RawStretch, a: number, b: number): void {
  let { lo, hi } = found;
  for (let i = a - start; i < b - start; i++) {
    const v = words[i]!;
    if (v < lo) lo = v;
    if (v > hi) hi = v;
  }
  found.lo = lo;
  found.hi = hi;
}

/** Items `[i, j)` of level 0: loose ones at both ends on each level, whole groups one level up. */
function overItems(levels: Pyramid['levels'], i: number, j: number): void {
  for (const level of levels) {
    const top = level === levels[levels.length - 1];
    while (i < j && (top || i % fanOut !== 0)) overItem(level, i++);
    while (i < j && j % fanOut !== 0) overItem(level, --j);
    if (i >= j) return;
    i /= fanOut;
    j /= fanOut;
  }
}

function overItem(level: SampleArray, item: number): void {
  const min = level[2 * item]!;
  const max = level[2 * item + 1]!;
  if (min < found.lo) found.lo = min;
  if (max > found.hi) found.hi = max;
}
