import { describe, expect, test } from 'vitest';
import { span } from '../../../../src/core/units';
import { arraySamples } from '../../../../src/formats/bytes/memory-sink';
import { signalCsvBlocks } from '../../../../src/formats/csv/signal';
import { leadStretch, millivolts } from '../../../../src/report/strip-signal';
import { lead, recordingWith, wave } from '../edf/fixtures';

/** Rows of the text, its first two lines left out: time in s and values in mV. */
async function rowsOf(...given: Parameters<typeof signalCsvBlocks>): Promise<string[]> {
  const blocks: string[] = [];
  for await (const block of signalCsvBlocks(...given)) blocks.push(block);
  return blocks.join('').trimEnd().split('\n').slice(2);
}

describe('a signal as text', () => {
  test('a worked file: rate, names, scale, and rows of gaps left out', async () => {
    const leads = [
      lead('chest, left', 250, 6, { mvPerUnit: 0.005, offset: 100 }),
      lead('II', 250, 6, { mvPerUnit: 0.25, offset: 0.5 }),
    ];
    const recording = recordingWith(leads, { gaps: [span(1, 3), span(4, 5)] });
    const words = [Int16Array.of(100, 0, 0, 99, 0, 301), Int16Array.of(0, 0, 0, 1, 0, -1)];
    const blocks: string[] = [];
    for await (const block of signalCsvBlocks(recording, words.map(arraySamples))) blocks.push(block);
    expect(blocks.join('')).toBe(
      '# sampling rate: 250 Hz\ntime_s,chest  left (mV),II (mV)\n' +
        '0.000000,0.000,-0.125\n0.012000,-0.005,0.125\n0.020000,1.005,-0.375\n',
    );
  });

  test('every sample is there once, also across blocks and with gaps over their seams', async () => {
    const n = 150_000;
    const words = wave(n, 5);
    const gaps = [span(0, 10), span(65_530, 65_540), span(70_000, 140_000), span(149_990, n)];
    const recording = recordingWith([lead('I', 500, n, { mvPerUnit: 1 })], { gaps });
    const rows = await rowsOf(recording, [arraySamples(words)]);
    const there = Array.from({ length: n }, (_, i) => i).filter(i => !gaps.some(g => i >= g.start && i < g.end));
    expect(rows).toEqual(there.map(i => `${(i / 500).toFixed(6)},${words[i]}`));
  });

  test('values have the decimals that their words need, nine at most', async () => {
    const first = async (more: Parameters<typeof lead>[3]) =>
      (await rowsOf(recordingWith([lead('I', 250, 1, more)]), [arraySamples(Int16Array.of(3))]))[0]!.split(',')[1];
    expect(await first({ mvPerUnit: 2, offset: 0 })).toBe('6');
    expect(await first({ mvPerUnit: 0.0025, offset: 0 })).toBe('0.0075');
    expect(await first({ mvPerUnit: 1, offset: 0.25 })).toBe('2.75');
    expect(await first({ mvPerUnit: 1 / 3, offset: 0 })).toBe('1.000000000');
    expect(await first({ mvPerUnit: 1, offset: 0, format: 'float32' })).toBe('3.000000000');
  });

  test('a lead of another rate is refused by name', async () => {
    const recording = recordingWith([lead('I', 250, 4), lead('II', 125, 2)]);
    await expect(signalCsvBlocks(recording, []).next()).rejects.toThrow('lead II has 125 Hz, not 250 Hz');
  });
});

describe('the signal of a strip in a report', () => {
  const strip = { samplingRateHz: 250, start: 501, end: 2501 } as Parameters<typeof leadStretch>[0];

  test('is the same time in a lead of another rate, cut where the lead ends', () => {
    expect(leadStretch(strip, { samplingRateHz: 250, sampleCount: 5000 })).toEqual([501, 2501]);
    expect(leadStretch(strip, { samplingRateHz: 125, sampleCount: 2500 })).toEqual([251, 1251]);
    expect(leadStretch(strip, { samplingRateHz: 1000, sampleCount: 9000 })).toEqual([2004, 9000]);
    expect(leadStretch(strip, { samplingRateHz: 250, sampleCount: 400 })).toEqual([400, 400]);
  });

  test('is in mV to the microvolt', () => {
    expect(millivolts(Int16Array.of(12, 13, -400), { offset: 12, mvPerUnit: 0.0024414 })).toEqual([0, 0.002, -1.006]);
  });
});
