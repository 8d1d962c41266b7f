import { type Marks, unchanged } from '../../marks/markset';
import type { SignalFeatures } from './features';

/**
 * What each mark looks like, beside its neighbours. Parallel arrays, one entry per mark. After an edit only the marks
 * around it are measured again.
 */
export interface BeatTable {
  readonly marks: Marks;
  /** Peak to peak around the mark, in words. */
  readonly amplitude: Float32Array;
  /** Correlation with the local average beat, or with the second most alike neighbour when that is higher. */
  readonly correlation: Float32Array;
  /** The same where it fits best within a few milliseconds: a mark slightly beside its peak has the usual shape. */
  readonly centredCorrelation: Float32Array;
  /** Highest correlation with the local average beat when the snippet may shift, and that shift in recording samples. */
  readonly shiftedCorrelation: Float32Array;
  readonly shift: Int32Array;
  /** Median amplitude of the neighbours. */
  readonly usualAmplitude: Float32Array;
  /** Median correlation of the neighbours. */
  readonly usualCorrelation: Float32Array;
}

/** Marks on either side that make the local average beat. */
const neighbours = 8;
const halfS = 0.12;
const snippetHz = 125;
/** Shifts tried, in seconds: from a P wave or to a T wave is further and is told by shape and interval. */
const shiftS = 0.12;
/** A mark this little beside its peak is on it: what it looks like is told where the beat fits best. */
const centringS = 0.04;
/** So like the average beat that no shift needs trying. */
const alikeAnyway = 0.98;
/** Alike enough that no single neighbour needs asking. */
const alike = 0.9;

/** Marks measured at a time: their snippets are kept only that long. */
const blockMarks = 2048;

/** Measures all marks. */
export function beatTable(features: SignalFeatures, marks: Marks): BeatTable {
  const table = emptyTable(marks);
  measure(features, table, 0, marks.length);
  return table;
}

/** The table for other marks, keeping what the change leaves as it was: only marks near it are measured again. */
export function updateBeatTable(features: SignalFeatures, before: BeatTable, marks: Marks): BeatTable {
  const { head, tail } = unchanged(before.marks, marks);
  if (head === marks.length && marks.length === before.marks.length) return before;
  const table = emptyTable(marks);
  for (const key of perMark) copyEnds(before[key], table[key], head, tail);
  measure(
    features,
    table,
    Math.max(0, head - 2 * neighbours),
    Math.min(marks.length, marks.length - tail + 2 * neighbours),
  );
  return table;
}

const perMark = [
  'amplitude',
  'correlation',
  'centredCorrelation',
  'shiftedCorrelation',
  'shift',
  'usualAmplitude',
  'usualCorrelation',
] as const;

function copyEnds(from: Float32Array | Int32Array, to: Float32Array | Int32Array, head: number, tail: number): void {
  to.set(from.subarray(0, head));
  if (tail > 0) to.set(from.subarray(from.length - tail), to.length - tail);
}

export function stride(features: SignalFeatures): number {
  return Math.max(1, Math.round(features.workingHz / snippetHz));
}

function emptyTable(marks: Marks): BeatTable {
  const n = marks.length;
  return {
    marks,
    amplitude: new Float32Array(n),
    correlation: new Float32Array(n),
    centredCorrelation: new Float32Array(n),
    shiftedCorrelation: new Float32Array(n),
    shift: new Int32Array(n),
    usualAmplitude: new Float32Array(n),
    usualCorrelation: new Float32Array(n),
  };
}

/** Snippets of consecutive marks: mean taken off, norm 1. */
interface Snippets {
  readonly first: number;
  readonly length: number;
  readonly values: Float32Array;
}

export function snippetLength(features: SignalFeatures): number {
  return 2 * Math.round((halfS * features.workingHz) / stride(features)) + 1;
}

function takeSnippets(features: SignalFeatures, table: BeatTable, first: number, end: number): Snippets {
  const length = snippetLength(features);
  const values = new Float32Array((end - first) * length);
  for (let i = first; i < end; i++) {
    const out = values.subarray((i - first) * length, (i - first + 1) * length);
    table.amplitude[i] = takeSnippet(features, Math.floor(table.marks[i]! / features.factor), out);
  }
  return { first, length, values };
}

function measure(features: SignalFeatures, table: BeatTable, from: number, to: number): void {
  const n = table.marks.length;
  for (let start = from; start < to; start += blockMarks) {
    const end = Math.min(to, start + blockMarks);
    const snippets = takeSnippets(features, table, Math.max(0, start - neighbours), Math.min(n, end + neighbours));
    compare(features, table, snippets, start, end);
  }
  for (let i = from; i < to; i++) {
    const lo = Math.max(0, i - neighbours);
    const hi = Math.min(n, i + neighbours + 1);
    table.usualCorrelation[i] = medianOf(table.centredCorrelation, lo, hi, i);
    table.usualAmplitude[i] = medianOf(table.amplitude, lo, hi, i);
  }
}

/** Fills `out` with the unit-norm snippet at a working sample and returns its peak-to-peak in words. */
export function takeSnippet(features: SignalFeatures, centre: number, out: Float32Array): number {
  const step = stride(features);
  const half = (out.length - 1) >> 1;
  const { working } = features;
  const last = working.length - 1;
  let mean = 0;
  let high = Number.NEGATIVE_INFINITY;
  let low = Number.POSITIVE_INFINITY;
  for (let k = 0, i = centre - half * step; k < out.length; k++, i += step) {
    const v = working[Math.max(0, Math.min(i, last))] ?? 0;
    out[k] = v;
    mean += v;
    high = Math.max(high, v);
    low = Math.min(low, v);
  }
  mean /= out.length;
  let squares = 0;
  for (let k = 0; k < out.length; k++) {
    const v = out[k]! - mean;
    out[k] = v;
    squares += v * v;
  }
  const scale = squares > 0 ? 1 / Math.sqrt(squares) : 0;
  for (let k = 0; k < out.length; k++) out[k]! *= scale;
  return high - low;
}

function compare(features: SignalFeatures, table: BeatTable, snippets: Snippets, from: number, to: number): void {
  const m = snippets.length;
  const average = new Float32Array(m);
  const shifted = new Float32Array(m);
  for (let i = from; i < to; i++) {
    const lo = Math.max(0, i - neighbours);
    const hi = Math.min(table.marks.length, i + neighbours + 1);
    localAverage(snippets, i, lo, hi, average);
    const own = dot(snippets.values, (i - snippets.first) * m, average, m);
    table.correlation[i] = own > alike ? own : Math.max(own, secondMostAlike(snippets, i, lo, hi));
    findShift(features, table, i, own, average, shifted);
  }
}

/** Unit-norm average of marks lo..hi without `except`. */
function localAverage(snippets: Snippets, except: number, lo: number, hi: number, out: Float32Array): void {
  const m = snippets.length;
  out.fill(0);
  for (let k = lo; k < hi; k++) {
    if (k === except) continue;
    for (let j = 0, p = (k - snippets.first) * m; j < m; j++, p++) out[j]! += snippets.values[p]!;
  }
  let squares = 0;
  for (let j = 0; j < m; j++) squares += out[j]! * out[j]!;
  const scale = squares > 0 ? 1 / Math.sqrt(squares) : 0;
  for (let j = 0; j < m; j++) out[j]! *= scale;
}

/** Correlation of the signal at a sample without a mark with the average of the marks around index i. */
export function correlationAt(features: SignalFeatures, table: BeatTable, i: number, at: number): number {
  const lo = Math.max(0, i - neighbours);
  const hi = Math.min(table.marks.length, i + neighbours);
  const snippets = takeSnippets(features, table, lo, hi);
  const average = new Float32Array(snippets.length);
  const snippet = new Float32Array(snippets.length);
  localAverage(snippets, -1, lo, hi, average);
  takeSnippet(features, Math.floor(at / features.factor), snippet);
  return dot(snippet, 0, average, average.length);
}

/** An ectopic beat that comes again is known: it is like at least two of its neighbours. */
function secondMostAlike(snippets: Snippets, i: number, lo: number, hi: number): number {
  const m = snippets.length;
  const own = (i - snippets.first) * m;
  let first = -1;
  let second = -1;
  for (let k = lo; k < hi; k++) {
    if (k === i) continue;
    let c = 0;
    for (let j = 0, p = own, q = (k - snippets.first) * m; j < m; j++, p++, q++)
      c += snippets.values[p]! * snippets.values[q]!;
    if (c > first) {
      second = first;
      first = c;
    } else if (c > second) second = c;
  }
  return second;
}

function findShift(
  features: SignalFeatures,
  table: BeatTable,
  i: number,
  own: number,
  average: Float32Array,
  scratch: Float32Array,
): void {
  table.centredCorrelation[i] = table.correlation[i]!;
  table.shiftedCorrelation[i] = own;
  table.shift[i] = 0;
  if (own > alikeAnyway) return;
  const step = stride(features);
  const centre = Math.floor(table.marks[i]! / features.factor);
  const reach = Math.round((shiftS * features.workingHz) / step);
  const close = Math.round((centringS * features.workingHz) / step);
  let best = own;
  let bestShift = 0;
  for (let s = -reach; s <= reach; s++) {
    if (s === 0) continue;
    takeSnippet(features, centre + s * step, scratch);
    const c = dot(scratch, 0, average, average.length);
    if (Math.abs(s) <= close && c > table.centredCorrelation[i]!) table.centredCorrelation[i] = c;
    if (c > best) {
      best = c;
      bestShift = s;
    }
  }
  table.shiftedCorrelation[i] = best;
  table.shift[i] = bestShift * step * features.factor;
}

export function dot(a: Float32Array, from: number, b: Float32Array, n: number): number {
  let sum = 0;
  for (let k = 0; k < n; k++) sum += a[from + k]! * b[k]!;
  return sum;
}

const scratch = new Float32Array(64);

function medianOf(values: Float32Array, lo: number, hi: number, except: number): number {
  let n = 0;
  for (let k = lo; k < hi; k++) {
    if (k === except) continue;
    let p = n++;
    for (; p > 0 && scratch[p - 1]! > values[k]!; p--) scratch[p] = scratch[p - 1]!;
    scratch[p] = values[k]!;
  }
  if (n === 0) return values[except] ?? 0;
  return n % 2 === 1 ? scratch[n >> 1]! : (scratch[(n >> 1) - 1]! + scratch[n >> 1]!) / 2;
}
