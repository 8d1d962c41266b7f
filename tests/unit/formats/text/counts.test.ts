// source: the definition of gain and zero, mV = (count - zero) / gain, and values written here
import { describe, expect, test } from 'vitest';
import { bytesSource } from '../../../../src/formats/bytes/source';
import { doubtsLeft, previewText, withGain } from '../../../../src/formats/text/layout';
import { bytesOf, readText } from './fixtures';

const mvOf = (i: number) => ((i * 37) % 401) / 200 - 1;
const counts = (gain: number, zero: number) => Array.from({ length: 100 }, (_, i) => Math.round(mvOf(i) * gain + zero));
const preview = (text: string) => previewText(bytesSource('strip.dat', bytesOf(text)));

describe('counts of a converter', () => {
  test.each(['ECG (counts)', 'ecg_adc', 'ECG [ADC]', 'lead1 raw'])('under “%s” ask for gain and zero', async name => {
    const text = `${name}\n${counts(200, 2048).join('\n')}\n`;
    const { columns, doubts } = await preview(text);
    expect(columns[0]).toMatchObject({ role: 'value', unit: 'counts', mvPerUnit: Number.NaN });
    expect(doubts[0]).toBe(`${name} holds counts of a converter: gain and zero must be given.`);
    await expect(readText(text, { samplingRateHz: 250 })).rejects.toThrow(
      /nothing says how many counts of \w+ make 1 mV. Give gain and zero./,
    );
  });

  test('are mV by gain and zero, to the last count', async () => {
    const text = `ECG (counts)\n${counts(200, 2048).join('\n')}\n`;
    const { columns } = await preview(text);
    const { mv, opened } = await readText(text, { samplingRateHz: 250, columns: [withGain(columns[0]!, 200, 2048)] });
    expect(mv[0]).toEqual(Array.from({ length: 100 }, (_, i) => Math.round(mvOf(i) * 1e6) / 1e6));
    expect(opened.recording.leads[0]).toMatchObject({ fileUnit: 'counts', offset: 2048, format: 'int16' });
  });

  test('with decimals keep their zero', async () => {
    const text = `ECG (counts)\n${counts(200, 2048)
      .map(c => `${c}.5`)
      .join('\n')}\n`;
    const { columns } = await preview(text);
    const { mv } = await readText(text, { samplingRateHz: 250, columns: [withGain(columns[0]!, 200, 2048.5)] });
    expect(mv[0]![0]).toBe(-1);
  });

  test.each([
    [0, 0],
    [Number.NaN, 0],
    [200, Number.NaN],
  ])('with a gain of %d and a zero of %d are refused', async (gain, zero) => {
    const text = `ECG (counts)\n${counts(200, 0).join('\n')}\n`;
    const { columns } = await preview(text);
    const change = { samplingRateHz: 250, columns: [withGain(columns[0]!, gain, zero)] };
    await expect(readText(text, change)).rejects.toThrow(/Give gain and zero/);
  });

  test('that do not say so are reported as a doubt where whole numbers lie far from 0', async () => {
    const { columns, doubts } = await preview(`ECG\n${counts(200, 2048).join('\n')}\n`);
    expect(columns[0]!.unit).toBe('uV');
    expect(doubts[0]).toMatch(
      /are read as uV\. They are whole and lie about 20\d\d: if they are counts, give gain and/,
    );
    expect((await preview(`ECG\n${counts(200, 0).join('\n')}\n`)).doubts[0]).not.toMatch(/counts/);
  });

  test('are no doubt any more once gain and zero were given; other doubts stay', async () => {
    const named = await preview(
      `time_s,ECG (counts),ECG 2\n${counts(200, 2048)
        .map((c, i) => `${i / 250},${c},${c}`)
        .join('\n')}\n`,
    );
    const scaled = (layout: typeof named, all: boolean) =>
      layout.columns.map(c => (c.role === 'value' && (all || c.unit === 'counts') ? withGain(c, 200, 2048) : c));
    expect(named.doubts).toEqual([
      expect.stringContaining('gain and zero must be given'),
      expect.stringMatching(/^ECG 2 does not/),
    ]);
    expect(doubtsLeft(named)).toEqual(named.doubts);
    expect(doubtsLeft({ ...named, columns: scaled(named, false) })).toEqual([named.doubts[1]]);
    const silent = await preview(`ECG\n${counts(200, 2048).join('\n')}\n`);
    expect(doubtsLeft(silent)).toEqual(silent.doubts);
    const given = { ...silent, samplingRateHz: 250, columns: scaled(silent, true) };
    expect(silent.doubts.length).toBe(2);
    expect(doubtsLeft(given)).toEqual([]);
  });
});
