import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { columns, createColumns, needsRaw } from '../../../../src/core/recording/columns';
import {
  baseSamples,
  createPyramidBuilder,
  emptyPyramid,
  pyramidFromBuffer,
  pyramidToBuffer,
} from '../../../../src/core/recording/pyramid';
import type { SampleArray, SampleFormat } from '../../../../src/core/recording/recording';

const arrays = { int16: Int16Array, int32: Int32Array, float32: Float32Array };
const formats = Object.keys(arrays) as SampleFormat[];

/** A lead with slow waves, spikes and, in float leads, missing values, from a seed. */
function lead(format: SampleFormat, length: number, seed: number): SampleArray {
  const words = new arrays[format](length);
  let state = seed >>> 0;
  for (let i = 0; i < length; i++) {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    words[i] = 1000 * Math.sin(i / 50) + (state % 997 === 0 ? 20000 : (state >>> 16) % 100) - 50;
    if (format === 'float32' && state % 53 < 20 && i % 400 < 150) words[i] = Number.NaN;
  }
  return words;
}

/** `skips` samples that were not recorded follow each block, in turn. */
function build(format: SampleFormat, words: SampleArray, cuts: readonly number[], skips: readonly number[] = [0]) {
  const builder = createPyramidBuilder(format);
  let at = 0;
  for (let k = 0; at < words.length; k++) {
    const next = Math.min(words.length, at + (cuts[k % cuts.length] ?? 1));
    builder.push(words.subarray(at, next));
    at = next;
    if (at < words.length && skips[k % skips.length]! > 0) builder.skip(skips[k % skips.length]!);
  }
  return builder.finish();
}

/** The same blocks on their time line, as number arrays with NaN where nothing was recorded. */
function onTimeLine(words: SampleArray, cuts: readonly number[], skips: readonly number[]): Float64Array {
  const out: number[] = [];
  let at = 0;
  for (let k = 0; at < words.length; k++) {
    const next = Math.min(words.length, at + cuts[k % cuts.length]!);
    out.push(...words.subarray(at, next));
    at = next;
    if (at < words.length) out.push(...new Array<number>(skips[k % skips.length]!).fill(Number.NaN));
  }
  return Float64Array.from(out);
}

/** Slow and obviously right. */
function bruteForce(words: SampleArray | Float64Array, start: number, end: number): [number, number] {
  const values = [...words.subarray(start, end)].filter(v => !Number.isNaN(v));
  if (values.length === 0) return [Number.NaN, Number.NaN];
  return [Math.min(...values), Math.max(...values)];
}

const cases = fc.record({
  format: fc.constantFrom(...formats),
  length: fc.integer({ min: 1, max: 6000 }),
  seed: fc.integer(),
  cuts: fc.array(fc.integer({ min: 1, max: 700 }), { minLength: 1, maxLength: 6 }),
  from: fc.double({ min: 0, max: 1, noNaN: true }),
  to: fc.double({ min: 0, max: 1, noNaN: true }),
  columnCount: fc.integer({ min: 1, max: 90 }),
  withRaw: fc.boolean(),
});

describe('min/max pyramid', () => {
  // source: minimum and maximum by definition, over the plain array
  test('every column is exact at every zoom, whatever the blocks were', () => {
    const out = createColumns(90);
    fc.assert(
      fc.property(cases, ({ format, length, seed, cuts, from, to, columnCount, withRaw }) => {
        const words = lead(format, length, seed);
        const pyramid = build(format, words, cuts);
        const start = Math.floor(Math.min(from, to) * length);
        const end = Math.max(start + 1, Math.ceil(Math.max(from, to) * length));
        const raw = withRaw ? { start, words: words.subarray(start, end) } : null;
        columns(pyramid, raw, start, end, columnCount, out);
        expect(out.count).toBeGreaterThan(0);
        expect(out.count).toBeLessThanOrEqual(columnCount);
        for (let c = 0; c < out.count; c++) {
          const expected = bruteForce(words, out.edges[c]!, out.edges[c + 1]!);
          expect([out.min[c], out.max[c]]).toEqual(expected);
        }
      }),
      { numRuns: 500, seed: 7 },
    );
  });

  // source: the same definition, over the plain array with nothing where nothing was recorded
  test('columns over gaps count what was recorded on either side and nothing else', () => {
    const out = createColumns(90);
    const skips = fc.array(fc.integer({ min: 0, max: 300 }), { minLength: 1, maxLength: 5 });
    fc.assert(
      fc.property(cases, skips, ({ format, length, seed, cuts, from, to, columnCount, withRaw }, gaps) => {
        const words = lead(format, Math.ceil(length / 4), seed);
        const pyramid = build(format, words, cuts, gaps);
        const line = onTimeLine(words, cuts, gaps);
        expect(pyramid.sampleCount).toBe(line.length);
        const start = Math.floor(Math.min(from, to) * line.length);
        const end = Math.max(start + 1, Math.ceil(Math.max(from, to) * line.length));
        // What stands in the gaps of the words must not matter.
        const read = line.slice(start, end).map(v => (Number.isNaN(v) && format !== 'float32' ? 30_000 : v));
        const raw = withRaw ? { start, words: arrays[format].from(read) } : null;
        columns(pyramid, raw, start, end, columnCount, out);
        expect(out.count).toBeGreaterThan(0);
        for (let c = 0; c < out.count; c++) {
          const expected = bruteForce(line, out.edges[c]!, out.edges[c + 1]!);
          expect([out.min[c], out.max[c]]).toEqual(expected);
        }
        // Where no pyramid is there yet, the same from the words alone, or nothing.
        const values = () => [...out.min.subarray(0, out.count), ...out.max.subarray(0, out.count)];
        const expected = raw ? values() : values().map(() => Number.NaN);
        columns(emptyPyramid(pyramid), raw, start, end, columnCount, out);
        expect(values()).toEqual(expected);
      }),
      { numRuns: 300, seed: 11 },
    );
  });

  test('a gap of weeks takes no room', () => {
    const builder = createPyramidBuilder('int16');
    const words = lead('int16', 1000, 4);
    builder.push(words);
    const before = pyramidToBuffer(builder.finish()).byteLength;
    builder.skip(1_300_000_000);
    builder.push(words);
    const pyramid = builder.finish();
    expect(pyramid.sampleCount).toBe(1_300_002_000);
    expect(pyramidToBuffer(pyramid).byteLength).toBeLessThan(3 * before);
    const out = createColumns(4);
    columns(pyramid, null, 0, pyramid.sampleCount, 4, out);
    expect([...out.min.subarray(0, out.count)].map(v => Number.isNaN(v))).toEqual([false, true, true, false]);
  });

  // source: the layout of version 1, whose header had 0 where the number of stretches is now
  test('a buffer of version 1 is read as one without gaps', () => {
    const pyramid = build('int16', lead('int16', 5000, 5), [999]);
    const buffer = pyramidToBuffer(pyramid);
    new DataView(buffer).setUint32(4, 1, true);
    expect(pyramidFromBuffer(buffer)).toEqual(pyramid);
  });

  test('edges lie where asked: to the sample with stored words, within one base item without', () => {
    const words = lead('int16', 100_000, 3);
    const pyramid = build('int16', words, [4096]);
    const out = createColumns(100);
    columns(pyramid, { start: 0, words }, 1000, 51_000, 100, out);
    expect([...out.edges.subarray(0, 3)]).toEqual([1000, 1500, 2000]);
    expect(out.edges[100]).toBe(51_000);
    columns(pyramid, null, 1000, 51_000, 100, out);
    expect(out.count).toBe(100);
    for (let c = 0; c <= 100; c++) expect(Math.abs(out.edges[c]! - (1000 + 500 * c))).toBeLessThanOrEqual(baseSamples);
    expect(needsRaw(0, 10_000, 100)).toBe(true);
    expect(needsRaw(0, 100_000, 100)).toBe(false);
  });

  test('a stretch outside the lead gives no columns', () => {
    const out = createColumns(10);
    columns(build('int16', lead('int16', 500, 1), [100]), null, 600, 900, 10, out);
    expect(out.count).toBe(0);
  });

  test('finishing early shows what is there, and more may follow', () => {
    const words = lead('int16', 5000, 9);
    const builder = createPyramidBuilder('int16');
    builder.push(words.subarray(0, 1234));
    const early = builder.finish();
    builder.push(words.subarray(1234));
    expect(early.sampleCount).toBe(1234);
    expect(early).toEqual(build('int16', words.subarray(0, 1234), [1234]));
    expect(builder.finish()).toEqual(build('int16', words, [5000]));
  });

  test.each(formats)('%s survives the way through one buffer', format => {
    for (const length of [0, 1, 64, 65, 256, 257, 20_000]) {
      for (const gap of [0, 70]) {
        const pyramid = build(format, lead(format, length, 5), [999], [gap]);
        expect(pyramidFromBuffer(pyramidToBuffer(pyramid))).toEqual(pyramid);
      }
    }
  });

  test('a buffer that is cut short, foreign or of another version is refused', () => {
    const buffer = pyramidToBuffer(build('int16', lead('int16', 5000, 5), [999]));
    expect(pyramidFromBuffer(buffer.slice(0, buffer.byteLength - 1))).toBeNull();
    expect(pyramidFromBuffer(buffer.slice(0, 10))).toBeNull();
    expect(pyramidFromBuffer(new ArrayBuffer(100))).toBeNull();
    const later = buffer.slice(0);
    new DataView(later).setUint32(4, 3, true);
    expect(pyramidFromBuffer(later)).toBeNull();
  });

  // source: 1/64 of the samples, two values each, plus a third for the levels above = 4.2 %
  test('takes about 4 % of the bytes of the samples', () => {
    const words = new Int16Array(1_000_000);
    expect(pyramidToBuffer(build('int16', words, [65_536])).byteLength / words.byteLength).toBeCloseTo(0.0417, 3);
  });
});
