import { createHash } from 'node:crypto';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { marksFrom } from '../../../../src/core/marks/markset';
import { normalise } from '../../../../src/core/marks/spans';
import { span } from '../../../../src/core/units';
import { arraySamples, memorySink } from '../../../../src/formats/bytes/memory-sink';
import { bytesSource } from '../../../../src/formats/bytes/source';
import { toAnnotations } from '../../../../src/formats/edf/annotations';
import type { EdfContent } from '../../../../src/formats/edf/layout';
import { readEdf } from '../../../../src/formats/edf/reader';
import { edfBytes } from '../../../../src/formats/edf/writer';
import readings from '../../../reference/edf/readings.json';
import {
  contentOf,
  lead,
  onTimeLine,
  recordingWith,
  referenceContents,
  referenceGaps,
  sameWords,
  sampleContent,
  wave,
} from './fixtures';

const sha = (data: Uint8Array | Int16Array) =>
  createHash('sha256')
    .update(new Uint8Array(data.buffer, data.byteOffset, data.byteLength))
    .digest('hex');

async function read(bytes: Uint8Array, options = {}) {
  const sink = memorySink();
  return { sink, opened: await readEdf(bytesSource('back', bytes), options, sink) };
}

describe('files written here, as independent readers read them', () => {
  // source: EDFlib (Debian libedf-dev 1.23) and biosig (python3-biosig 2.5.0); tests/reference/edf/make.py
  const contents = referenceContents();

  test.each(['continuous', 'subsecond', 'discontinuous'] as const)(
    'the %s file is the one they were given',
    async name => {
      expect(sha(await edfBytes(contents[name]))).toBe(readings[name].fileSha256);
    },
  );

  test.each(['continuous', 'subsecond'] as const)('EDFlib reads equal words, times and texts (%s)', async name => {
    const { sink, opened } = await read(await edfBytes(contents[name]));
    const theirs = readings[name].edflib;
    const padded = (i: number) => {
      const out = new Int16Array(theirs.signals[i]!.count).fill(Math.round(opened.recording.leads[i]!.offset));
      out.set(sink.lead(i));
      return out;
    };
    expect(theirs.signals.map(s => s.wordsSha256)).toEqual([sha(padded(0)), sha(padded(1))]);
    expect(theirs.annotations.map(a => [a.onset, a.duration, a.text])).toEqual(
      opened.annotations.map(a => [
        a.onsetSeconds,
        a.durationSeconds === null ? '' : String(a.durationSeconds),
        a.text,
      ]),
    );
    expect(theirs.start.slice(0, 19)).toBe(opened.recording.startedAt!.slice(0, 19));
    expect(theirs.subSecond).toBe(name === 'subsecond' ? 0.25 : 0);
  });

  test('biosig reads equal words, amplitudes and times (continuous)', async () => {
    const { sink, opened } = await read(await edfBytes(contents.continuous));
    const theirs = readings.continuous.biosig;
    for (const [i, l] of opened.recording.leads.entries()) {
      const mine = Array.from(sink.lead(i).subarray(0, 8), w => (w - l.offset) * l.mvPerUnit);
      for (const [k, mv] of theirs.leads[i]!.firstMv.entries()) expect(mine[k]).toBeCloseTo(mv, 5);
      expect(theirs.leads[i]!.rateHz).toBe(l.samplingRateHz);
    }
    expect(theirs.leads.map(l => l.wordsSha256)).toEqual(readings.continuous.edflib.signals!.map(s => s.wordsSha256));
    expect(theirs.annotations.map(a => a.onset)).toEqual(opened.annotations.map(a => a.onsetSeconds));
  });

  test('biosig reads the discontinuous file equally, counting recorded time', async () => {
    const { sink, opened } = await read(await edfBytes(contents.discontinuous));
    const theirs = readings.discontinuous.biosig;
    const starts = [0, 250, 500, 750, 1000, 1900, 2150, 2400, 2650, 2900, 3150, 3400, 3650, 4400, 4650, 4900];
    const line = onTimeLine(sink, opened.recording.leads[0]!, 0);
    const recorded = new Int16Array(starts.length * 250);
    for (const [r, start] of starts.entries()) recorded.set(line.subarray(start, start + 250), r * 250);
    expect(theirs.records).toBe(starts.length);
    expect(theirs.leads[0]!.wordsSha256).toBe(sha(recorded));
    const recordedTime = (seconds: number) => {
      const r = starts.findLastIndex(s => s / 250 <= seconds + 1e-9);
      return r + seconds - starts[r]! / 250;
    };
    expect(theirs.annotations.map(a => a.text)).toEqual(opened.annotations.map(a => a.text));
    for (const [i, a] of opened.annotations.entries()) {
      expect(theirs.annotations[i]!.onset).toBeCloseTo(recordedTime(a.onsetSeconds), 6);
    }
  });
});

test.each([
  ['continuous', []],
  ['discontinuous', referenceGaps],
] as const)('write, read, write gives the same bytes (%s)', async (_name, gaps) => {
  const content = sampleContent(gaps);
  const bytes = await edfBytes(content);
  const { sink, opened } = await read(bytes);
  expect(opened.recording.gaps).toEqual(content.recording.gaps);
  expect(opened.recording.sampleCount).toBe(5125);
  expect(opened.recording.startedAt).toBe('2026-03-14T08:30:00.250');
  expect(opened.warnings).toEqual([]);
  for (const [i, samples] of content.leads.entries()) {
    expect(onTimeLine(sink, opened.recording.leads[i]!, i)).toEqual(await samples.read(0, 1e9));
  }
  expect(await edfBytes(contentOf(opened, sink, 'V01'))).toEqual(bytes);
});

const rates = fc.constantFrom(50, 100, 128, 130, 200, 249.9, 250, 256, 360, 500, 512, 1000, 129.9746);

test('any recording comes back: words, gaps, marks and segments, and the same bytes', async () => {
  const arbitrary = fc.record({
    rate: rates,
    count: fc.integer({ min: 1, max: 4000 }),
    gaps: fc.array(fc.tuple(fc.integer({ min: 1, max: 3900 }), fc.integer({ min: 1, max: 900 })), { maxLength: 4 }),
    marks: fc.uniqueArray(fc.integer({ min: 0, max: 3999 }), { maxLength: 60 }),
    gain: fc.constantFrom(0.005, 0.001, 1 / 200, 0.00244140625, 0.0003662109375, 1 / 131),
    offset: fc.integer({ min: -2048, max: 2048 }),
    seed: fc.integer(),
  });
  await fc.assert(
    fc.asyncProperty(arbitrary, async c => {
      const gaps = normalise(c.gaps.map(([a, n]) => span(a, a + n)).filter(g => g.end < c.count));
      const content = contentFor(
        c.rate,
        c.count,
        gaps,
        c.marks.filter(m => m < c.count),
        c,
      );
      const bytes = await edfBytes(content);
      const { sink, opened } = await read(bytes);
      expect(opened.recording.sampleCount).toBe(c.count);
      expect(opened.recording.gaps).toEqual(gaps);
      expect(opened.recording.samplingRateHz).toBeCloseTo(c.rate, 3);
      expect(opened.marks ?? new Int32Array()).toEqual(marksFrom(c.marks.filter(m => m < c.count)));
      const line = onTimeLine(sink, opened.recording.leads[0]!, 0);
      expect(sameWords(line, await content.leads[0]!.read(0, c.count))).toBe(true);
      expect(sha(await edfBytes(contentOf(opened, sink, 'V01')))).toBe(sha(bytes));
    }),
    { numRuns: 150, seed: 20260314 },
  );
});

function contentFor(
  rate: number,
  count: number,
  gaps: ReturnType<typeof normalise>,
  marks: number[],
  more: { gain: number; offset: number; seed: number },
): EdfContent {
  const l = lead('ECG', rate, count, { mvPerUnit: more.gain, offset: more.offset });
  const words = wave(count, more.seed % 1000);
  for (const g of gaps) words.fill(more.offset, g.start, g.end);
  const annotations = toAnnotations(marksFrom(marks), [], rate);
  return { recording: recordingWith([l], { gaps }), leads: [arraySamples(words)], annotations, participant: 'V01' };
}
