import { baseSamples, fanOut, type Pyramid } from './pyramid';
import type { SampleArray } from './recording';

/** Stored words of a stretch: `words[0]` is sample `start` of the lead. */
export interface RawStretch {
  readonly start: number;
  readonly words: SampleArray;
}

/** Minimum and maximum of each column, in stored words. NaN where a column has no value. Made once, filled per frame. */
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
 * column are taken from the pyramid; without it, edges lie on multiples of 64 samples and zooming in closer than that gives
 * fewer columns.
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
  setEdges(out, from, to, columnCount, exact ? 1 : baseSamples, pyramid.sampleCount);
  for (let c = 0; c < out.count; c++) {
    const a = out.edges[c]!;
    const b = out.edges[c + 1]!;
    clear(found);
    if (exact) overSamples(pyramid, raw, a, b);
    else overItems(pyramid, a / baseSamples, Math.ceil(b / baseSamples));
    out.min[c] = found.lo <= found.hi ? found.lo : Number.NaN;
    out.max[c] = found.lo <= found.hi ? found.hi : Number.NaN;
  }
}

/** Evenly spaced edges on multiples of `grid`; a column that would be empty is left out. */
function setEdges(
  out: Columns,
  from: number,
  to: number,
  columnCount: number,
  grid: number,
  sampleCount: number,
): void {
  const width = (to - from) / columnCount;
  const { edges } = out;
  edges[0] = from - (from % grid);
  for (let c = 1; c <= columnCount; c++) {
    const ideal = c === columnCount ? Math.ceil(to / grid) : Math.round((from + c * width) / grid);
    const edge = Math.min(sampleCount, ideal * grid);
    if (edge > edges[out.count]!) edges[++out.count] = edge;
  }
}

/** Accumulator of the column at hand: one object, so that a frame allocates nothing. */
const found = { lo: 0, hi: 0 };

function clear(range: typeof found): void {
  range.lo = Number.POSITIVE_INFINITY;
  range.hi = Number.NEGATIVE_INFINITY;
}

function overSamples(pyramid: Pyramid, raw: RawStretch, a: number, b: number): void {
  const firstItem = Math.ceil(a / baseSamples);
  const lastItem = Math.floor(b / baseSamples);
  if (lastItem <= firstItem) {
    overWords(raw, a, b);
    return;
  }
  overWords(raw, a, firstItem * baseSamples);
  overItems(pyramid, firstItem, lastItem);
  overWords(raw, lastItem * baseSamples, b);
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
function overItems(pyramid: Pyramid, i: number, j: number): void {
  for (const level of pyramid.levels) {
    const top = level === pyramid.levels[pyramid.levels.length - 1];
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
