import { expect, test } from 'vitest';
import { bytesSource } from '../../../../src/formats/bytes/source';
import { doubtsLeft, previewText } from '../../../../src/formats/text/layout';
import { bytesOf } from './fixtures';

// source: an ECG is recorded at 50 Hz or more, at one of a few usual rates (common practice)
const inUnit = (name: string, row: (i: number) => number | string, above = '', count = 200) =>
  previewText(
    bytesSource(
      'x',
      bytesOf(`${above}${name};ECG (mV)\n${Array.from({ length: count }, (_, i) => `${row(i)};${i}`).join('\n')}\n`),
    ),
  );

test('a unit that makes a rate no ECG has, where none makes a usual one, is asked about', async () => {
  const slow = await inUnit('time_s', i => i / 25);
  expect([slow.timeFormat, slow.samplingRateHz, slow.doubts]).toEqual([
    's',
    25,
    ['The time stamps say 25 Hz: an ECG has 50 Hz to 20 kHz. Check what the time is in.'],
  ]);
  expect(doubtsLeft({ ...slow, samplingRateHz: 250 })).toEqual([]);
});

test('a name stands where its rate is high but possible, and the other reading is shown', async () => {
  const { timeFormat, samplingRateHz, doubts } = await inUnit('time_s', i => i / 15_000);
  expect([timeFormat, samplingRateHz]).toEqual(['s', 15_000]);
  expect(doubts).toEqual([
    '"time_s" is read in seconds, as its name says, which makes 15000 Hz; in minutes it would be 250 Hz.',
  ]);
});

test('numbers without a name are taken in the unit that makes a usual rate', async () => {
  const { timeFormat, samplingRateHz, doubts } = await inUnit('time', i => Number((i / 15_000).toFixed(8)));
  expect([timeFormat, samplingRateHz]).toEqual(['min', 250]);
  expect(doubts).toEqual(['"time" is read in minutes, which makes 250 Hz; in seconds it would be 15000 Hz.']);
});

test('sample numbers that leave out some still ask for the rate, and show what else they may be', async () => {
  const { timeFormat, samplingRateHz, doubts, rateIn } = await inUnit('index', i => 2 * i);
  expect([timeFormat, samplingRateHz, rateIn]).toEqual(['sample', null, { ms: 500 }]);
  expect(doubts).toEqual([
    '"index" is read as sample numbers, as its name says; in milliseconds it would be 500 Hz.',
    'Nothing says the sampling rate: it must be given.',
  ]);
  const stated = await inUnit('index', i => 4 * i, 'fs: 250\n');
  expect([stated.timeFormat, stated.samplingRateHz]).toEqual(['ms', 250]);
});

test('a rate that the file states settles the unit', async () => {
  const counted = await inUnit('time_s', i => i, 'fs: 1000\n');
  expect([counted.timeFormat, counted.samplingRateHz, counted.doubts.length]).toEqual(['ms', 1000, 1]);
  const slow = await inUnit('time_s', i => i / 25, 'fs: 25\n');
  expect([slow.timeFormat, slow.samplingRateHz]).toEqual(['s', 25]);
  const numbers = await inUnit('sample', i => 4 * i, 'fs: 360\n');
  expect([numbers.timeFormat, numbers.samplingRateHz]).toEqual(['sample', 360]);
});

test('a doubt about the unit of time is none any more in another unit, whose rate is known', async () => {
  const layout = await inUnit('time_min', i => i / 250);
  expect(layout).toMatchObject({ timeFormat: 's', samplingRateHz: 250, stampResolutionMs: 1 });
  expect(layout.rateIn.s).toBe(250);
  expect(layout.rateIn.min).toBeCloseTo(250 / 60, 6);
  expect(doubtsLeft(layout)).toHaveLength(1);
  expect(doubtsLeft({ ...layout, timeFormat: 'min', samplingRateHz: 250 / 60 })).toEqual([]);
  expect((await inUnit('time_s', i => i / 250)).rateIn).toEqual({});
});

test('a unit that the person gives is read without a doubt', async () => {
  const text = `time_min;ECG (mV)\n${Array.from({ length: 200 }, (_, i) => `${i / 250};${i}`).join('\n')}\n`;
  const asked = await previewText(bytesSource('x', bytesOf(text)), { timeFormat: 's' });
  expect([asked.timeFormat, asked.samplingRateHz, asked.doubts]).toEqual(['s', 250, []]);
});

test('a doubt that names the rate which is used is none any more where another one is given', async () => {
  const other = await inUnit('time_s', i => i / 250, 'fs: 500\n');
  const bare = await inUnit('ECG2', i => (i * 7) % 50, '# 500 Hz\n');
  const still = await inUnit('time_s', () => 5, 'fs: 250\n');
  for (const layout of [other, bare, still]) {
    const now = doubtsLeft(layout).length;
    expect(doubtsLeft({ ...layout, samplingRateHz: 1000 }).length).toBe(now - 1);
  }
});

test('where the times give no rate, the one that the file states is said to be used', async () => {
  const still = (above: string) => inUnit('time_s', () => 5, above);
  expect((await still('')).doubts).toEqual(['The time stamps give no sampling rate: it must be given.']);
  expect((await still('fs: 250\n')).doubts).toEqual([
    'The time stamps give no sampling rate: the stated 250 Hz is used.',
  ]);
  expect((await still('fs: 250\n')).samplingRateHz).toBe(250);
});

test.each([100, 200, 250, 500, 1000])(
  'even rows at %i Hz under times rounded to 0.1 s share them, and do not jitter',
  async rate => {
    const { samplingRateHz, doubts } = await inUnit('time_s', i => (30_601.37 + i / rate).toFixed(1), '', 6000);
    expect(samplingRateHz).toBe(rate);
    expect(doubts).toEqual([expect.stringMatching(/^About \d+ rows share a time stamp/)]);
  },
);

test('packets that come unevenly are said to jitter', async () => {
  const late = (packet: number) => 0.02 * ((packet * packet * 31 + packet * 7) % 10);
  const { doubts } = await inUnit(
    'time_s',
    i => (Math.floor(i / 50) * 0.2 + late(Math.floor(i / 50))).toFixed(3),
    '',
    6000,
  );
  expect(doubts.join()).toContain('The time stamps jitter by about');
});

test('a usual rate in another unit is shown where the name makes one that is possible and not usual', async () => {
  const minutes = await inUnit('time_s', i => (i / 3000).toFixed(6));
  expect([minutes.timeFormat, minutes.samplingRateHz]).toEqual(['s', 3000]);
  expect(minutes.doubts).toEqual([
    '"time_s" is read in seconds, as its name says, which makes 3000 Hz; in minutes it would be 50 Hz.',
  ]);
  expect((await inUnit('time_s', i => (i / 3000).toFixed(6), 'fs: 3000\n')).doubts).toEqual([]);
});

test('fractions of a day or an hour are read where the header says so; else the rate is asked for', async () => {
  const day = (i: number) => (0.4375 + i / 250 / 86_400).toFixed(11);
  for (const name of ['time (days)', 'days since start', 'elapsed days']) {
    expect(await inUnit(name, day)).toMatchObject({ timeFormat: 'd', samplingRateHz: 250, doubts: [] });
  }
  expect(await inUnit('elapsed (h)', i => (i / 900_000).toFixed(10))).toMatchObject({
    timeFormat: 'h',
    samplingRateHz: 250,
    doubts: [],
  });
  const bare = await inUnit('time', day);
  expect([bare.samplingRateHz, bare.doubts.at(-1)]).toEqual([
    null,
    'Nothing says the sampling rate: it must be given.',
  ]);
  const seconds = await inUnit('time (h)', i => i / 250);
  expect([seconds.timeFormat, seconds.samplingRateHz]).toEqual(['s', 250]);
});

test('a date system is told from a name or a line above the rows', async () => {
  const serial = (i: number) => (43_661.4375 + i / 250 / 86_400).toFixed(10);
  expect((await inUnit('date', serial)).timeFormat).toBe('day');
  expect((await inUnit('days since 1904-01-01', serial)).timeFormat).toBe('day-1904');
  expect((await inUnit('date', serial, '# 1904 date system\n')).timeFormat).toBe('day-1904');
  expect((await inUnit('date', serial, '# device 1904\n')).timeFormat).toBe('day');
});

// source: 1904-01-01 to 1970-01-01 are 24,107 days, 2,082,844,800 s
test('seconds since 1904, which read as seconds since 1970 are in a year to come, are a doubt', async () => {
  const now = Date.UTC(2026, 2, 14, 8, 30) / 1000;
  const doubts = async (name: string, scale: number, from1904: number) =>
    (await inUnit(name, i => ((now + from1904 + i / 250) * scale).toFixed(scale === 1 ? 3 : 0))).doubts;
  for (const [name, scale] of [
    ['time', 1],
    ['time_s', 1],
    ['time', 1000],
  ] as const) {
    expect(await doubts(name, scale, 24_107 * 86_400)).toContainEqual(
      expect.stringMatching(
        /since 1970, which makes a start on 2092-03-14; counted from 1904 it would be 2026-03-14\./,
      ),
    );
    expect((await doubts(name, scale, 0)).join()).not.toContain('1904');
  }
});

test.each(['06-Jan-2026 09:00:0%s', '06.01.26 09:00:0%s', '20260106T09000%s'])(
  'times written as %s are said to be left out',
  async style => {
    const { timeFormat, doubts } = await inUnit('time', i => style.replace('%s', (i / 250).toFixed(3)));
    expect(timeFormat).toBeNull();
    expect(doubts[0]).toBe(
      `"time" is left out, as "${style.replace('%s', '0.000')}" cannot be read as a time: without it no gap is seen and the ` +
        'start is not known. Write times as 2026-03-14T08:30:00.250.',
    );
  },
);
