// Files made here, so that what each line held is known. That damaged rows become gaps is common practice.
import { describe, expect, test } from 'vitest';
import { bytesSource } from '../../../../src/formats/bytes/source';
import { sniff } from '../../../../src/formats/open';
import { bytesOf, readText } from './fixtures';

const wave = (i: number) => ((i * 37) % 401) - 200;
const row = (i: number) => `${i * 4},${wave(i)}`;
const lines = (count: number, of: (i: number) => string) => Array.from({ length: count }, (_, i) => of(i));
const withBad = (all: string[], bad: Readonly<Record<number, string>>) => all.map((l, i) => bad[i] ?? l);
const table = (rows: readonly string[]) => `time_ms,ECG (uV)\n${rows.join('\n')}\n`;

describe('lines that cannot be read', () => {
  test('leave a gap where the stamps show one, and are counted', async () => {
    const rows = withBad(lines(200, row), { 20: '80,4#7', 21: '84', 90: 'battery low' });
    const { opened, sink, layout } = await readText(table(rows));
    expect(layout.doubts).toEqual([]);
    expect(opened.recording).toMatchObject({ sampleCount: 200, samplingRateHz: 250 });
    expect(opened.recording.gaps).toEqual([
      { start: 20, end: 22 },
      { start: 90, end: 91 },
    ]);
    expect([...(await sink.samples(0).read(89, 92))]).toEqual([wave(89), 0, wave(91)]);
    expect(opened.warnings).toEqual([
      '3 lines cannot be read: left out, with a gap where the time stamps show one.',
      'The first of them is line 22, column 2: "4#7" is no number.',
    ]);
  });

  test('that held no sample leave no gap between stamps', async () => {
    const rows = lines(100, row);
    rows.splice(50, 0, '*** battery low ***');
    const { opened, mv } = await readText(table(rows));
    expect(opened.recording).toMatchObject({ sampleCount: 100, gaps: [] });
    expect(mv[0]!.map(v => Math.round(v * 1000))).toEqual(lines(100, String).map((_, i) => wave(i)));
    expect(opened.warnings).toHaveLength(2);
  });

  test('stand for one sample each where nothing else says when', async () => {
    const rows = withBad(
      lines(100, i => `${wave(i)},1`),
      { 10: 'x,1', 11: '3', 99: '5,?' },
    );
    const { opened, sink } = await readText(`A (uV),B (uV)\n${rows.join('\n')}\n`, { samplingRateHz: 250 });
    expect(opened.recording.sampleCount).toBe(100);
    expect(opened.recording.gaps).toEqual([
      { start: 10, end: 12 },
      { start: 99, end: 100 },
    ]);
    expect(sink.lead(0)[12]).toBe(wave(12));
    expect(opened.warnings).toEqual([
      '3 lines cannot be read: a gap of one sample stands for each.',
      'The first of them is line 12, column 1: "x" is no number.',
    ]);
  });

  test('stand for one sample each where rows share their stamps', async () => {
    const rows = withBad(
      lines(2000, i => `${Math.floor(i / 50) * 200},${wave(i)}`),
      { 75: '200,??', 120: '@@' },
    );
    const { opened, sink } = await readText(table(rows));
    expect(opened.recording.gaps).toEqual([
      { start: 75, end: 76 },
      { start: 120, end: 121 },
    ]);
    expect(opened.recording.sampleCount).toBe(2000);
    expect(sink.lead(0).at(-1)).toBe(wave(1999));
  });

  test('say nothing about the day', async () => {
    const clock = (i: number) => new Date(80_000_000 + i * 4).toISOString().slice(11, 23);
    const rows = withBad(
      lines(100, i => `${clock(i)},${wave(i)}`),
      { 40: `00:00:01.000,x` },
    );
    const { opened } = await readText(`clock,ECG (uV)\n${rows.join('\n')}\n`);
    expect(opened.recording).toMatchObject({ sampleCount: 100, gaps: [{ start: 40, end: 41 }] });
  });

  test('more than one in twenty are a wrong layout', async () => {
    const rows = lines(200, i => (i % 10 === 3 ? `${i * 4},~` : row(i)));
    await expect(readText(table(rows))).rejects.toThrow(
      'strip.dat (text), line 5, column 2: "~" is no number. 20 of 200 lines so far cannot be read. ' +
        'Check separator, decimal mark and columns, or repair the lines.',
    );
  });
});

describe('prose', () => {
  const prose = [
    'Notes of the training day.',
    'The hut was reached at noon, by all four volunteers.',
    'Weather: fair.',
  ];

  test('is refused as a file without a signal', async () => {
    await expect(sniff(bytesSource('notes.txt', bytesOf(`${prose.join('\n')}\n`)))).rejects.toThrow(
      'notes.txt (text), line 1: this is text without rows of numbers: there is no signal in it. ' +
        'Choose the file that holds the recording.',
    );
  });

  test('with a number here and there is no signal either', async () => {
    const text = `${prose[0]}\nAltitude: 2,310 m, 14 March.\n${prose[2]}\nTwo recorders, 4 volunteers.\n`;
    await expect(sniff(bytesSource('notes.txt', bytesOf(text)))).rejects.toThrow(/no signal/);
  });
});
