import { type Span, span } from '../units';
import { addStretch, type Pieces, piecesOf } from './pieces';
import type { Lead, SampleArray, SampleFormat } from './recording';

/**
 * Minima and maxima of a lead at several scales, so that any stretch is drawn from about as many values as it has
 * columns. Level 0 covers 64 samples an item, each level above four items of the one below. 4 % of the samples' bytes.
 * Items begin anew with each recorded piece, so that none covers words from both sides of a gap, and gaps have none.
 */
export interface Pyramid {
  readonly format: SampleFormat;
  readonly sampleCount: number;
  readonly unrecorded: readonly Span[];
  readonly pieces: Pieces;
  /** Items of level 0 before each piece; one value more than pieces. */
  readonly itemsBefore: Float64Array;
  /** Each level interleaved: min, max, min, max ... The last item may cover fewer samples. None: there are words only. */
  readonly levels: readonly SampleArray[];
}

export const baseSamples = 64;
export const fanOut = 4;

export interface PyramidBuilder {
  /** The next block of the lead, of any length. */
  push(words: SampleArray): void;
  /** So many samples were not recorded. */
  skip(count: number): void;
  /** The pyramid of everything pushed so far; more may be pushed afterwards. */
  finish(): Pyramid;
}

const arrayOf = { int16: Int16Array, int32: Int32Array, float32: Float32Array };

export function createPyramidBuilder(format: SampleFormat): PyramidBuilder {
  const reduce = reducerOf(format);
  const carry = new arrayOf[format](baseSamples);
  let carried = 0;
  let base = new arrayOf[format](8192);
  let items = 0;
  let sampleCount = 0;
  const unrecorded: Span[] = [];
  const room = (more: number) => {
    const needed = (items + more) * 2;
    if (needed <= base.length) return;
    const larger = new arrayOf[format](Math.max(needed, base.length * 2));
    larger.set(base.subarray(0, items * 2));
    base = larger;
  };
  /** The item that is not full yet. Filling up with one of its own values changes neither minimum nor maximum. */
  const begun = (out: SampleArray, item: number) => {
    carry.fill(carry[0]!, carried);
    reduce(carry, 0, out, item, 1);
  };
  return {
    push(words) {
      sampleCount += words.length;
      let from = 0;
      if (carried > 0) {
        from = Math.min(words.length, baseSamples - carried);
        carry.set(words.subarray(0, from), carried);
        carried += from;
        if (carried < baseSamples) return;
        room(1);
        reduce(carry, 0, base, items++, 1);
      }
      const whole = Math.floor((words.length - from) / baseSamples);
      room(whole);
      reduce(words, from, base, items, whole);
      items += whole;
      from += whole * baseSamples;
      carried = words.length - from;
      carry.set(words.subarray(from));
    },
    skip(count) {
      if (carried > 0) {
        room(1);
        begun(base, items++);
      }
      carried = 0;
      addStretch(unrecorded, sampleCount, sampleCount + count);
      sampleCount += count;
    },
    finish() {
      const level0 = new arrayOf[format](2 * (items + (carried > 0 ? 1 : 0)));
      level0.set(base.subarray(0, items * 2));
      if (carried > 0) begun(level0, items);
      return { format, ...layOut(sampleCount, [...unrecorded]), levels: upperLevels(level0) };
    },
  };
}

/** Of a lead whose words are not here yet: whoever draws from it needs the words. */
export function emptyPyramid({
  format,
  sampleCount,
  unrecorded = [],
}: Pick<Lead, 'format' | 'sampleCount' | 'unrecorded'>): Pyramid {
  return { format, ...layOut(sampleCount, unrecorded), levels: [] };
}

function layOut(sampleCount: number, unrecorded: readonly Span[]) {
  const pieces = piecesOf({ sampleCount, unrecorded });
  const { starts, ends } = pieces;
  const itemsBefore = new Float64Array(starts.length + 1);
  for (const [k, start] of starts.entries()) {
    itemsBefore[k + 1] = itemsBefore[k]! + Math.ceil((ends[k]! - start) / baseSamples);
  }
  return { sampleCount, unrecorded, pieces, itemsBefore };
}

function upperLevels(level0: SampleArray): SampleArray[] {
  const levels = [level0];
  for (let below = level0; below.length > 2 * fanOut; ) {
    const items = Math.ceil(below.length / 2 / fanOut);
    const level = newLike(below, items * 2);
    for (let i = 0; i < items; i++) widest(below, i * fanOut, Math.min((i + 1) * fanOut, below.length / 2), level, i);
    levels.push(level);
    below = level;
  }
  return levels;
}

function newLike(words: SampleArray, length: number): SampleArray {
  if (words instanceof Int16Array) return new Int16Array(length);
  return words instanceof Int32Array ? new Int32Array(length) : new Float32Array(length);
}

/** Smallest minimum and largest maximum of items `[from, to)`. Comparisons pass over NaN (no value in a float lead). */
function widest(level: SampleArray, from: number, to: number, out: SampleArray, at: number): void {
  let lo = level[2 * from]!;
  let hi = level[2 * from + 1]!;
  for (let i = from + 1; i < to; i++) {
    const min = level[2 * i]!;
    const max = level[2 * i + 1]!;
    if (min < lo || Number.isNaN(lo)) lo = min;
    if (max > hi || Number.isNaN(hi)) hi = max;
  }
  out[2 * at] = lo;
  out[2 * at + 1] = hi;
}

type Reduce = (words: SampleArray, from: number, out: SampleArray, item: number, count: number) => void;

function reducerOf(format: SampleFormat): Reduce {
  const reduce = { int16: reduceInt16, int32: reduceInt32, float32: reduceFloat32 }[format];
  return reduce as Reduce;
}

/**
 * The three loops are written out because the compiler specialises each for its array type: one loop that has seen floats
 * stays several times slower for int16.
 */
function reduceInt16(words: Int16Array, from: number, out: Int16Array, item: number, count: number): void {
  for (let n = 0, i = from; n < count; n++) {
    let lo = words[i]!;
    let hi = lo;
    for (const end = i + baseSamples; i < end; i++) {
      const v = words[i]!;
      lo = Math.min(lo, v);
      hi = Math.max(hi, v);
    }
    out[2 * (item + n)] = lo;
    out[2 * (item + n) + 1] = hi;
  }
}

function reduceInt32(words: Int32Array, from: number, out: Int32Array, item: number, count: number): void {
  for (let n = 0, i = from; n < count; n++) {
    let lo = words[i]!;
    let hi = lo;
    for (const end = i + baseSamples; i < end; i++) {
      const v = words[i]!;
      lo = Math.min(lo, v);
      hi = Math.max(hi, v);
    }
    out[2 * (item + n)] = lo;
    out[2 * (item + n) + 1] = hi;
  }
}

/** Passes over NaN; a block without any value gives NaN twice. */
function reduceFloat32(words: Float32Array, from: number, out: Float32Array, item: number, count: number): void {
  for (let n = 0, i = from; n < count; n++) {
    let lo = Number.POSITIVE_INFINITY;
    let hi = Number.NEGATIVE_INFINITY;
    for (const end = i + baseSamples; i < end; i++) {
      const v = words[i]!;
      if (v < lo) lo = v;
      if (v > hi) hi = v;
    }
    out[2 * (item + n)] = lo <= hi ? lo : Number.NaN;
    out[2 * (item + n) + 1] = lo <= hi ? hi : Number.NaN;
  }
}

/** 'BLPY', little-endian. */
const magic = 0x59504c42;
const headerBytes = 24;
const formats: readonly SampleFormat[] = ['int16', 'int32', 'float32'];

/**
 * One buffer: a 24-byte header (magic, version, format, number of stretches, sample count), start and end of each stretch
 * that was not recorded, then the levels from the finest up. Version 1 knew no such stretches.
 */
export function pyramidToBuffer(pyramid: Pyramid): ArrayBuffer {
  const bodyBytes = pyramid.levels.reduce((n, level) => n + level.byteLength, 0);
  const { unrecorded } = pyramid;
  const buffer = new ArrayBuffer(headerBytes + 16 * unrecorded.length + bodyBytes);
  const view = new DataView(buffer);
  view.setUint32(0, magic, true);
  view.setUint32(4, 2, true);
  view.setUint32(8, formats.indexOf(pyramid.format), true);
  view.setUint32(12, unrecorded.length, true);
  view.setFloat64(16, pyramid.sampleCount, true);
  let at = headerBytes;
  for (const { start, end } of unrecorded) {
    view.setFloat64(at, start, true);
    view.setFloat64(at + 8, end, true);
    at += 16;
  }
  for (const level of pyramid.levels) {
    new arrayOf[pyramid.format](buffer, at, level.length).set(level);
    at += level.byteLength;
  }
  return buffer;
}

/** Views on the buffer, nothing copied. Null when the buffer is not a whole pyramid of a known version. */
export function pyramidFromBuffer(buffer: ArrayBuffer): Pyramid | null {
  if (buffer.byteLength < headerBytes) return null;
  const view = new DataView(buffer);
  const format = formats[view.getUint32(8, true)];
  const version = view.getUint32(4, true);
  if (view.getUint32(0, true) !== magic || (version !== 1 && version !== 2) || !format) return null;
  const count = version === 1 ? 0 : view.getUint32(12, true);
  let at = headerBytes + 16 * count;
  if (at > buffer.byteLength) return null;
  const spans = new Float64Array(buffer, headerBytes, 2 * count);
  const unrecorded = Array.from({ length: count }, (_, i) => span(spans[2 * i]!, spans[2 * i + 1]!));
  const laidOut = layOut(view.getFloat64(16, true), unrecorded);
  const levels: SampleArray[] = [];
  for (const items of levelSizes(laidOut.itemsBefore.at(-1)!)) {
    const bytes = items * 2 * arrayOf[format].BYTES_PER_ELEMENT;
    if (at + bytes > buffer.byteLength) return null;
    levels.push(new arrayOf[format](buffer, at, items * 2));
    at += bytes;
  }
  return { format, ...laidOut, levels };
}

function levelSizes(items: number): number[] {
  const sizes = [items];
  while (sizes.at(-1)! > fanOut) sizes.push(Math.ceil(sizes.at(-1)! / fanOut));
  return sizes;
}
