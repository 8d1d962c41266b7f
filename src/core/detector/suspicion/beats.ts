import type { Marks } from '../../marks/markset';
import type { SignalFeatures } from './features';

/**
 * What each mark looks like, beside its neighbours. Parallel arrays, one entry per mark. After an edit only the marks
 * around it are measured anew.
 */
export interface BeatTable {
  readonly marks: Marks;
  /** Snippets of `snippetLength` samples around each mark: mean taken off, norm 1. */
  readonly snippets: Float32Array;
  readonly snippetLength: number;
  /** Peak to peak around the mark, in words. */
  readonly amplitude: Float32Array;
  /** Correlation with the local average beat, or with the second most alike neighbour when that is higher. */
  readonly likeness: Float32Array;
  /** Highest correlation with the local average beat when the snippet may shift, and that shift in recording samples. */
  readonly shiftedLikeness: Float32Array;
  readonly shift: Int32Array;
  /** Median amplitude of the neighbours. */
  readonly usualAmplitude: Float32Array;
  /** Median likeness of the neighbours. */
  readonly usualLikeness: Float32Array;
}

/** Marks on either side that make the local average beat. */
export const neighbours = 8;
const halfS = 0.12;
const snippetHz = 125;
/** Shifts tried, in seconds: from a P wave or to a T wave is further and is told by shape and interval. */
const shiftS = 0.12;
/** So like the average beat that no shift needs trying. */
const alikeAnyway = 0.98;

/** Measures all marks. */
export function beatTable(features: SignalFeatures, marks: Marks): BeatTable {
  const table = emptyTable(features, marks);
  measure(features, table, 0, marks.length);
  compare(features, table, 0, marks.length);
  return table;
}

/** The table for other marks, keeping what the change leaves as it was: only marks near it are measured again. */
export function updateBeatTable(features: SignalFeatures, before: BeatTable, marks: Marks): BeatTable {
  const { head, tail } = unchanged(before.marks, marks);
  if (head === marks.length && marks.length === before.marks.length) return before;
  const table = emptyTable(features, marks);
  const m = table.snippetLength;
  copyEnds(before.snippets, table.snippets, head * m, tail * m);
  for (const key of perMark) copyEnds(before[key], table[key], head, tail);
  measure(features, table, head, marks.length - tail);
  compare(
    features,
    table,
    Math.max(0, head - 2 * neighbours),
    Math.min(marks.length, marks.length - tail + 2 * neighbours),
  );
  return table;
}

/** How many marks at the start and at the end are the same in both. */
export function unchanged(before: Marks, after: Marks): { head: number; tail: number } {
  const n = Math.min(before.length, after.length);
  let head = 0;
  while (head < n && before[head] === after[head]) head++;
  let tail = 0;
  while (tail < n - head && before[before.length - 1 - tail] === after[after.length - 1 - tail]) tail++;
  return { head, tail };
}

const perMark = ['amplitude', 'likeness', 'shiftedLikeness', 'shift', 'usualAmplitude', 'usualLikeness'] as const;

function copyEnds(from: Float32Array | Int32Array, to: Float32Array | Int32Array, head: number, tail: number): void {
  to.set(from.subarray(0, head));
  if (tail > 0) to.set(from.subarray(from.length - tail), to.length - tail);
}

function stride(features: SignalFeatures): number {
  return Math.max(1, Math.round(features.workingHz / snippetHz));
}

function emptyTable(features: SignalFeatures, marks: Marks): BeatTable {
  const n = marks.length;
  const snippetLength = 2 * Math.round((halfS * features.workingHz) / stride(features)) + 1;
  return {
    marks,
    snippetLength,
    snippets: new Float32Array(n * snippetLength),
    amplitude: new Float32Array(n),
    likeness: new Float32Array(n),
    shiftedLikeness: new Float32Array(n),
    shift: new Int32Array(n),
    usualAmplitude: new Float32Array(n),
    usualLikeness: new Float32Array(n),
  };
}

function measure(features: SignalFeatures, table: BeatTable, from: number, to: number): void {
  const m = table.snippetLength;
  for (let i = from; i < to; i++) {
    const out = table.snippets.subarray(i * m, (i + 1) * m);
    const centre = Math.floor(table.marks[i]! / features.factor);
    table.amplitude[i] = takeSnippet(features, centre, out);
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

function compare(features: SignalFeatures, table: BeatTable, from: number, to: number): void {
  const m = table.snippetLength;
  const average = new Float32Array(m);
  const shifted = new Float32Array(m);
  for (let i = from; i < to; i++) {
    const lo = Math.max(0, i - neighbours);
    const hi = Math.min(table.marks.length, i + neighbours + 1);
    localAverage(table, i, lo, hi, average);
    const own = dot(table.snippets, i * m, average, m);
    table.likeness[i] = Math.max(own, secondMostAlike(table, i, lo, hi));
    table.usualAmplitude[i] = medianOf(table.amplitude, lo, hi, i);
    findShift(features, table, i, own, average, shifted);
  }
  for (let i = from; i < to; i++) {
    const lo = Math.max(0, i - neighbours);
    const hi = Math.min(table.marks.length, i + neighbours + 1);
    table.usualLikeness[i] = medianOf(table.likeness, lo, hi, i);
  }
}

function localAverage(table: BeatTable, i: number, lo: number, hi: number, out: Float32Array): void {
  const m = table.snippetLength;
  out.fill(0);
  for (let k = lo; k < hi; k++) {
    if (k === i) continue;
    for (let j = 0, p = k * m; j < m; j++, p++) out[j]! += table.snippets[p]!;
  }
  let squares = 0;
  for (let j = 0; j < m; j++) squares += out[j]! * out[j]!;
  const scale = squares > 0 ? 1 / Math.sqrt(squares) : 0;
  for (let j = 0; j < m; j++) out[j]! *= scale;
}

/** An ectopic beat that comes again is known: it is like at least two of its neighbours. */
function secondMostAlike(table: BeatTable, i: number, lo: number, hi: number): number {
  const m = table.snippetLength;
  let first = -1;
  let second = -1;
  for (let k = lo; k < hi; k++) {
    if (k === i) continue;
    let c = 0;
    for (let j = 0, p = i * m, q = k * m; j < m; j++, p++, q++) c += table.snippets[p]! * table.snippets[q]!;
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
  table.shiftedLikeness[i] = own;
  table.shift[i] = 0;
  if (own > alikeAnyway) return;
  const step = stride(features);
  const centre = Math.floor(table.marks[i]! / features.factor);
  const reach = Math.round((shiftS * features.workingHz) / step);
  let best = own;
  let bestShift = 0;
  for (let s = -reach; s <= reach; s++) {
    if (s === 0) continue;
    takeSnippet(features, centre + s * step, scratch);
    const c = dot(scratch, 0, average, average.length);
    if (c > best) {
      best = c;
      bestShift = s;
    }
  }
  table.shiftedLikeness[i] = best;
  table.shift[i] = bestShift * step * features.factor;
}

function dot(a: Float32Array, from: number, b: Float32Array, n: number): number {
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
