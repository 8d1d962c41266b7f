import { describe, expect, test } from 'vitest';
import { randomFromNumber } from '../../../../src/core/random';
import { measurePace } from '../../../../src/formats/text/pace';
import { StampReader } from '../../../../src/formats/text/stamp';
import {
  cellSeconds,
  formatFromName,
  formatFromValues,
  mostlyRising,
  resolutionMs,
  type TimeFormat,
} from '../../../../src/formats/text/time';
import { bytesOf } from './fixtures';

const stamp = (text: string) => new StampReader().read(bytesOf(text), 0, bytesOf(text).length);
const estimateRateHz = (seconds: number[], resolution: number) => measurePace(seconds, resolution)?.rateHz ?? null;
const day = Date.UTC(2026, 2, 14) / 1000;

// source: ISO 8601-1:2019, and the definition of the time of day
describe('a stamp in seconds', () => {
  test.each<[string, number]>([
    ['2026-03-14T08:30:05.250', day + 30_605.25],
    ['2026-03-14 08:30:05,25', day + 30_605.25],
    ['2026/03/14 08:30:05', day + 30_605],
    ['2026-03-14T08:30', day + 30_600],
    ['2026-03-14', day],
    ['14.03.2026 08:30:05.5', day + 30_605.5],
    ['100:00:01.5', 360_001.5],
    ['30:00:01', 108_001],
    ['14.03.2026 08:30:05,125', day + 30_605.125],
    ['14.03.2026', day],
    ['2026-03-14T08:30:05.25Z', day + 30_605.25],
    ['2026-03-14T08:30:05Z', day + 30_605],
    ['2026-03-14T08:30:05.5+02:00', day + 30_605.5],
    ['1900-01-01', Date.UTC(1900, 0, 1) / 1000],
    ['9998-12-31', Date.UTC(9998, 11, 31) / 1000],
    ['2026-12-01', Date.UTC(2026, 11, 1) / 1000],
    ['2026-01-31', Date.UTC(2026, 0, 31) / 1000],
    ['08:30', 30_600],
    ['8:05:09', 29_109],
    ['08:30:05,007', 30_605.007],
    ['23:59:60', 86_400],
    ['24:00:00', 86_400],
    ['24:30:00', 88_200],
    ['00:59:00', 3540],
    ['1:02.345', 62.345],
    ['75:10,5', 4510.5],
    ['1440:00.000', 86_400],
    ['00:01:132', 1.132],
    ['08:30:05:007', 30_605.007],
  ])('%s', (text, seconds) => {
    expect(stamp(text)).toBeCloseTo(seconds, 6);
  });

  test.each([
    '',
    'noon',
    '12',
    '08:',
    '25:00',
    '08:60',
    '08:30:61',
    '1899-12-31',
    '9999-01-01',
    '2026-00-10',
    '2026-13-10',
    '2026-03-00',
    '2026-03-32',
    '2026-03',
    '1:62.3',
    '100:00:01 PM',
    '25:00:01Z',
    '2026-03-14 25:00:01',
    '08:30:05:07',
    '2026-03-14 1:02.345',
  ])('“%s” is none', text => {
    expect(stamp(text)).toBeNaN();
  });

  test('is read between the bytes given', () => {
    const bytes = bytesOf('1,08:30:05,9');
    expect(new StampReader().read(bytes, 2, 10)).toBe(30_605);
  });
});

// source: the units' own definitions
test.each<[string, TimeFormat, '.' | ',', number]>([
  ['1.5', 's', '.', 1.5],
  ['1,5', 's', ',', 1.5],
  ['1500', 'ms', '.', 1.5],
  ['1500000', 'us', '.', 1.5],
  ['1500000000', 'ns', '.', 1.5],
  ['0,5', 'day', ',', 43_200],
  ['375', 'sample', '.', 1.5],
  ['1773477000', 'epoch-s', '.', 1_773_477_000],
  ['1773477000500', 'epoch-ms', '.', 1_773_477_000.5],
  ['1773477000500000', 'epoch-us', '.', 1_773_477_000.5],
  ['1773477000500000000', 'epoch-ns', '.', 1_773_477_000.5],
  ['08:30:01.5', 'clock', '.', 30_601.5],
  ['2026-03-14T00:00:01.5', 'iso', '.', day + 1.5],
])('a cell %s in %s is so many seconds', (cell, format, mark, seconds) => {
  expect(cellSeconds(cell, format, mark, 250)).toBeCloseTo(seconds, 5);
});

test('a cell that is no number is no time', () => {
  for (const format of ['s', 'sample', 'iso', 'clock'] as const)
    expect(cellSeconds('noon', format, '.', 250)).toBeNaN();
});

test.each<[string[], TimeFormat, '.' | ',', number]>([
  [['0', '0.004'], 's', '.', 1],
  [['0', '0,0040'], 's', ',', 0.1],
  [['0', '4'], 's', '.', 1000],
  [['0.0', '4.5'], 'ms', '.', 0.1],
  [['0', '4000'], 'us', '.', 1e-3],
  [['45123.5000', '45123.5001'], 'day', '.', 8640],
  [['0', '1'], 'sample', '.', 0],
  [['08:30:00', '08:30:00.25'], 'clock', '.', 10],
  [['2026-03-14T08:30:00.000', '2026-03-14T08:30:00.004'], 'iso', '.', 1],
  [['14.03.2026 08:30:00', '14.03.2026 08:30:01'], 'iso', '.', 1000],
  [['08:30:00,125'], 'clock', '.', 1],
])('%j in %s show steps of so many ms', (cells, format, mark, ms) => {
  expect(resolutionMs(cells, format, mark)).toBeCloseTo(ms, 9);
});

test.each<[string, TimeFormat | null]>([
  ['time (s)', 's'],
  ['time_ms', 'ms'],
  ['t_us', 'us'],
  ['t (ns)', 'ns'],
  ['Zeit [s]', 's'],
  ['elapsed seconds', 's'],
  ['time (h)', 'h'],
  ['t_hours', 'h'],
  ['Hours', 'h'],
  ['Zeit [h]', 'h'],
  ['days', 'd'],
  ['time (days)', 'd'],
  ['t_d', 'd'],
  ['time of day', null],
  ['time (h:mm:ss)', null],
  ['ms', 'ms'],
  ['Sample', 'sample'],
  ['sample number', 'sample'],
  ['idx', 'sample'],
  ['time', null],
  ['samples of air', null],
  ['ECG (ms)', null],
  ['time_usable', null],
  ['t_msx', null],
  ['timestamp', null],
])('the name %s says its unit, or does not', (name, format) => {
  expect(formatFromName(name)).toBe(format);
});

describe('a column that rises tells its unit by its steps', () => {
  const from = (first: number, step: number, count = 20) =>
    Array.from({ length: count }, (_, i) => `${first + i * step}`);
  // source: 20 Hz to 20 kHz are rates of an ECG (common practice); 1970 to 2096 are years of a recorder's clock
  test.each<[string[], TimeFormat | null]>([
    [from(0, 0.004), 's'],
    [from(0, 4), 'ms'],
    [from(0, 4000), 'us'],
    [from(0, 4_000_000), 'ns'],
    [from(0, 0.05), 's'],
    [from(0, 0.0625), 'ms'],
    [from(0, 1), 'sample'],
    [from(17, 1), 'sample'],
    [from(0.5, 1), 'ms'],
    [from(1_773_477_000, 0.004), 'epoch-s'],
    [from(1_773_477_000_000, 4), 'epoch-ms'],
    [from(1_773_477_000_000_000, 4000), 'epoch-us'],
    [from(1_773_477_000_000_000_000, 4096), 'epoch-ns'],
    [from(9e8, 1), 'epoch-s'],
    [from(8e8, 1), 'sample'],
    [from(4e9, 1), 'sample'],
    [from(45_123.5, 1 / 250 / 86_400), 'day'],
    [from(45_123.5, 1 / 250), 's'],
    [from(32_000.5, 1 / 250 / 86_400), null],
    [from(75_000.5, 1 / 250 / 86_400), null],
    [from(45_123, 1), 'sample'],
    [from(20, -1), null],
    [from(5, 0), null],
    [['1'], null],
    [['1', '2', 'x', '4'], null],
    [['08:30:00', '08:30:01'], 'clock'],
    [['8:30', '08:31'], 'clock'],
    [['2026-03-14', '2026-03-15'], 'iso'],
    [['2026/03/14 08:30', '2026/03/14 08:31'], 'iso'],
    [['14.03.2026', '15.03.2026'], 'iso'],
    [['08:30:00', '-', '08:30:01'], 'clock'],
    [['08:30:00', '5'], null],
  ])('%j', (cells, format) => {
    expect(formatFromValues(cells, '.')).toBe(format);
  });

  test('one fall in fifty is forgiven, if the end lies above the beginning', () => {
    const values = Array.from({ length: 100 }, (_, i) => (i === 40 || i === 60 ? i - 2 : i));
    expect(mostlyRising(values)).toBe(true);
    expect(mostlyRising(values.with(80, 0))).toBe(false);
    expect(mostlyRising(values.with(99, 0))).toBe(false);
    expect(mostlyRising([1, 1, 1])).toBe(false);
    expect(mostlyRising([1])).toBe(false);
    expect(mostlyRising([1, 2])).toBe(true);
  });
});

describe('the rate of stamps', () => {
  const at = (rate: number, count: number, round = 1e-9) =>
    Array.from({ length: count }, (_, i) => Math.round(i / rate / round) * round);

  test('is that of the longest stretch without a gap', () => {
    expect(estimateRateHz(at(250, 100), 0.001)).toBe(250);
    const late = at(250, 200).map(t => t + 60);
    expect(estimateRateHz([...at(250, 100), ...late], 0.001)).toBe(250);
    expect(estimateRateHz([...late.map(t => t - 60), ...at(250, 100).map(t => t + 90)], 0.001)).toBe(250);
  });

  test('is whole where the digits cannot tell it from that, and else as it is', () => {
    expect(estimateRateHz(at(130, 1000, 0.001), 0.001)).toBe(130);
    expect(estimateRateHz(at(128.5, 5000), 1e-9)).toBeCloseTo(128.5, 6);
    expect(estimateRateHz(at(249.98, 5000), 1e-9)).toBeCloseTo(249.98, 4);
  });

  test('is found where stamps come once a packet or are too coarse', () => {
    const packets = Array.from({ length: 1000 }, (_, i) => Math.floor(i / 50) * 0.2);
    expect(estimateRateHz(packets, 0.1)).toBeGreaterThan(200);
    const coarse = Array.from({ length: 5000 }, (_, i) => Math.floor(i / 500));
    expect(estimateRateHz(coarse, 1)! / 500).toBeGreaterThan(0.9);
  });

  test.each([512, 1024, 600, 250])(
    'at %i Hz is that of a clock of whole milliseconds, however many digits it is written with',
    rate => {
      const stamps = Array.from({ length: 6000 }, (_, i) => Number((Math.floor((1000 * i) / rate) / 1000).toFixed(6)));
      expect(measurePace(stamps, 1e-6)).toMatchObject({ rateHz: rate, jitterSeconds: 0 });
    },
  );

  // what a float32 holds near 20000 s and 70000 s lies 1/512 s and 1/128 s apart (IEEE 754)
  test.each([
    [20_000, 500, 5000],
    [20_000, 1000, 5000],
    [70_000, 250, 1500],
    [70_000, 500, 1500],
    [70_000, 512, 5000],
  ])('of float32 seconds from %d s on at %d Hz is that of the whole span', (from, rate, count) => {
    const words = Array.from({ length: count }, (_, i) => Math.fround(from + i / rate));
    expect(measurePace(words, 1e-6)).toMatchObject({ rateHz: rate, jitterSeconds: 0, otherwiseHz: null });
    const shortest = words.map(w => [5, 6, 7, 8].map(p => Number(w.toPrecision(p))).find(v => Math.fround(v) === w)!);
    expect(measurePace(shortest, 1e-3)).toMatchObject({ rateHz: rate, jitterSeconds: 0, otherwiseHz: null });
  });

  test('of a clock of 1/1024 s beside 1000 rows a second is that of the whole span', () => {
    const at = (from: number) => Array.from({ length: 5000 }, (_, i) => Math.floor((from + i / 1000) * 1024) / 1024);
    for (const from of [0, 5000.3]) expect(measurePace(at(from), 1e-6)!.rateHz).toBe(1000);
  });

  test('where rows are lost is that of those which follow each other; where that is not clear the other is kept', () => {
    const lost = (isLost: (i: number) => boolean) =>
      Array.from({ length: 8000 }, (_, i) => i)
        .filter(i => !isLost(i))
        .map(i => i / 512);
    const random = randomFromNumber(7);
    const drawn = new Set(Array.from({ length: 180 }, () => random.integer(8000)));
    expect(
      measurePace(
        lost(i => drawn.has(i)),
        1e-6,
      ),
    ).toMatchObject({ rateHz: 512, otherwiseHz: null });
    const { rateHz, otherwiseHz } = measurePace(
      lost(i => i % 20 === 0),
      1e-6,
    )!;
    expect([rateHz, otherwiseHz]).toEqual([512, expect.closeTo(486.4, 1)]);
  });

  test('of serial dates with eight decimals, whose step is 0.864 ms', () => {
    const at = (rate: number, count: number) =>
      Array.from({ length: count }, (_, i) => Number((45_292.51234567 + i / rate / 86_400).toFixed(8)) * 86_400);
    for (const [rate, count] of [
      [2000, 8000],
      [2000, 200],
      [1000, 200],
      [500, 200],
    ] as const)
      expect(measurePace(at(rate, count), 8.64e-4)!.rateHz).toBe(rate);
  });

  test.each([0.02, 0.06, 0.2, 0.5])('stands beside a jitter of %d rows, whatever the digits', rows => {
    for (const decimals of [4, 5, 6, 9]) {
      const stamps = Array.from({ length: 6000 }, (_, i) =>
        Number(((i + rows * Math.sin(i * i)) / 250).toFixed(decimals)),
      );
      const { jitterSeconds } = measurePace(stamps, 10 ** -decimals)!;
      expect(jitterSeconds * 250).toBeGreaterThan(0.3 * rows);
      expect(jitterSeconds * 250).toBeLessThan(2 * rows);
    }
  });

  test('keeps lost rows apart from a clock that ticks slowly', () => {
    const stamps = at(250, 6000, 1e-6).filter((_, i) => i % 50 !== 7);
    expect(measurePace(stamps, 1e-6)).toMatchObject({ rateHz: 250, jitterSeconds: 0 });
  });

  test('is not there without two stamps that differ', () => {
    expect(estimateRateHz([], 0)).toBeNull();
    expect(estimateRateHz([1], 0)).toBeNull();
    expect(estimateRateHz([1, 1, 1], 0)).toBeNull();
    expect(estimateRateHz([3, 2, 1], 0)).toBeNull();
  });
});
