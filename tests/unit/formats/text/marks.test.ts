import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { marksFrom } from '../../../../src/core/marks/markset';
import { bytesSource } from '../../../../src/formats/bytes/source';
import type { MarksClock, MarksLayout } from '../../../../src/formats/text/marks';
import { previewMarks, readMarks } from '../../../../src/formats/text/marks';
import { marksText } from '../../../../src/formats/text/marks-writer';
import { amount } from '../../amount';

const clock: MarksClock = { samplingRateHz: 250, sampleCount: 2500, startedAt: '2026-03-14T23:59:58' };
const beats = [100, 300, 520, 710, 900, 1120];
const sourceOf = (text: string) => bytesSource('list', new TextEncoder().encode(text));

async function read(text: string, change: Partial<MarksLayout> = {}, on = clock) {
  const layout = await previewMarks(sourceOf(text), on);
  return { layout, ...(await readMarks(sourceOf(text), { ...layout, ...change }, on)) };
}

const lines = (header: string, cell: (b: number) => string) => `${header}${beats.map(cell).join('\n')}\n`;
const wall = (b: number) => new Date(Date.UTC(2026, 2, 14, 23, 59, 58) + b * 4).toISOString();
const rr = beats.slice(1).map((b, i) => (b - beats[i]!) * 4);

describe('one list of marks, written in many ways', () => {
  test.each<[string, string, string, Partial<MarksLayout>?]>([
    ['sample indices with header', lines('sample\n', String), 'sample'],
    ['sample indices without', lines('', String), 'sample'],
    ['sample indices from 1', lines('sample\n', b => String(b + 1)), 'sample', { firstSample: 1 }],
    ['seconds', lines('time_s\n', b => (b / 250).toFixed(3)), 's'],
    ['seconds without header', lines('', b => (b / 250).toFixed(3)), 's'],
    ['seconds with decimal commas', lines('peak (s)\n', b => (b / 250).toFixed(3).replace('.', ',')), 's'],
    ['ms', lines('time_ms\n', b => String(b * 4)), 'ms'],
    ['ms past the last sample', lines('', b => String(b * 4)), 'ms'],
    ['date and time', lines('time\n', b => wall(b).slice(0, 23)), 'iso'],
    ['date and time with a blank', lines('', b => wall(b).slice(0, 23).replace('T', ' ')), 'iso'],
    ['date and time with a comma before the fraction', lines('', b => wall(b).slice(0, 23).replace('.', ',')), 'iso'],
    ['time of day with a comma before the fraction', lines('', b => wall(b).slice(11, 23).replace('.', ',')), 'clock'],
    [
      'three such times below a header',
      `time\n23:59:58,400\n23:59:59,200\n00:00:00,080\n00:00:00,840\n00:00:01,600\n00:00:02,480\n`,
      'clock',
    ],
    ['date and time, the day first', lines('', b => `${wall(b).slice(8, 10)}.03.2026 ${wall(b).slice(11, 23)}`), 'iso'],
    ['time of day over midnight', lines('', b => wall(b).slice(11, 23)), 'clock'],
    ['RR intervals in ms', `rr_ms\n${rr.join('\n')}\n`, 'rr-ms', { startSeconds: 0.4 }],
    ['RR intervals without header', `${rr.join('\n')}\n`, 'rr-ms', { startSeconds: 0.4 }],
    ['RR intervals in s', `RR (s)\n${rr.map(v => v / 1000).join('\n')}\n`, 'rr-s', { startSeconds: 0.4 }],
    ['a column among others', lines('note;sample;quality\n', b => `ok;${b};0,9`), 'sample'],
    ['comments and CRLF', lines('# made by hand\r\nsample\r\n', b => `${b}\r`), 'sample'],
  ])('%s', async (_name, text, unit, change) => {
    const on = unit === 'ms' && !text.startsWith('time') ? { ...clock, sampleCount: 1200 } : clock;
    const { layout, marks } = await read(text, change, on);
    expect(layout.unit).toBe(unit);
    expect(layout.why).not.toBe('');
    expect([...marks]).toEqual(beats);
  });
});

test.each([
  ['rr_s', '1,001\n0\n1,002\n1,004', [0, 250, 501, 752]],
  ['rr_ms', '1,001\n0\n1,002\n1,004', [0, 250, 501, 752]],
])(
  'a 0 among RR intervals is none, and does not make a decimal comma one between thousands: %s',
  async (name, cells, expected) => {
    const { marks, warnings } = await read(`${name}\n${cells}\n`);
    expect([...marks]).toEqual(expected);
    expect(warnings).toContain('1 RR interval is not above 0 and taken as 0.');
  },
);

test.each([
  ['# first beat at 0.108 s', 0.108],
  ['# first mark: 250 ms', 0.25],
  ['# first peak at 1500 MS', 1.5],
  ['# start = 2 s', 2],
  ['# a list of RR intervals', 0],
])('a comment “%s” says where RR intervals begin', async (comment, seconds) => {
  const { layout, marks } = await read(`${comment}\nrr_ms\n${rr.join('\n')}\n`);
  expect(layout.startSeconds).toBe(seconds);
  expect(marks[0]).toBe(Math.round(seconds * 250));
});

// source: definition; a comment that states a fact is no name of a column, with or without a header below it
test.each([
  ['# first beat at 0.108 s', null],
  ['# first beat at 108 ms', null],
  ['# start: 0.108 s', null],
  ['# sampling rate: 250 Hz', null],
  ['# V01 first beat at 0.108 s', 'V01'],
  ['# the first beat is at 0.108 s', 'the'],
  ['# RR intervals of V01; first beat at 0.108 s', 'RR intervals of V01;'],
])('a comment “%s” above a list without header gives no unit', async (comment, name) => {
  const { layout } = await read(`${comment}\n${rr.join('\n')}\n`);
  expect([layout.header?.[0] ?? null, layout.unit]).toEqual([name, 'rr-ms']);
  expect(layout.startSeconds).toBe(comment.includes('108') ? 0.108 : 0);
});

test('a comma in a time is reported as a doubt; digits of their own, or a header of two names, make it a separator', async () => {
  const doubt = expect.stringMatching(/comma in each line is read as that of a fraction of a second/);
  expect((await previewMarks(sourceOf('23:59:58,400\n23:59:59,200\n'))).doubts).toContainEqual(doubt);
  expect((await previewMarks(sourceOf('23:59:58.400\n23:59:59.200\n'))).doubts).not.toContainEqual(doubt);
  for (const text of ['23:59:58,812\n23:59:59,1020\n', 'time,rr_ms\n23:59:58,812\n23:59:59,802\n']) {
    const layout = await previewMarks(sourceOf(text));
    expect([layout.separator, layout.rows[0]]).toEqual([',', ['23:59:58', '812']]);
  }
});

test.each([
  'time (s);beat\n1,661;N\n2,190;N\n',
  'time (s);beat\n1,30;N\n2,77;V\n3,49;N\n',
  'time (s);beat\n1,300;early, wide\n',
])('a short labelled list with decimal commas is split at its semicolons: %j', async text => {
  const layout = await previewMarks(sourceOf(text), clock);
  expect(layout).toMatchObject({ separator: ';', decimalMark: ',', header: ['time (s)', 'beat'], unit: 's' });
});

test('a guess is reported as a doubt, a named column is none', async () => {
  expect((await previewMarks(sourceOf(lines('', String)))).doubts).toEqual([
    "No header names the column's unit; it is taken as sample indices because the values are whole numbers that rise.",
  ]);
  expect((await previewMarks(sourceOf(lines('sample\n', String)))).doubts).toEqual([]);
});

test('an RR list that does not add up to the recording is read, with the drift in ms and %', async () => {
  // 600 intervals of 1001 ms against a recording of 600 s: 600 ms too long, 0.1 %, below two intervals; 1010 ms: 6 s, 1 %
  const on = { samplingRateHz: 1000, sampleCount: 600_000, startedAt: null };
  const list = (ms: number) => `rr_ms\n${`${ms}\n`.repeat(600)}`;
  expect((await read(list(1001), {}, on)).warnings).toEqual([]);
  const long = await read(list(1010), {}, on);
  expect(long.warnings).toEqual([
    expect.stringContaining('rounded to 10 ms'),
    'The RR intervals end longer than the recording, at 606.000 s of 600.000 s: 6000 ms, 1.00 %.',
  ]);
  expect(long.dropped).toEqual(['6 marks outside the recording']);
  expect(long.marks).toHaveLength(595);
});

test('disorder, repeats and marks outside are reported', async () => {
  const { marks, warnings, dropped } = await read('sample\n300\n100\n100\n99999\n');
  expect([...marks]).toEqual([100, 300]);
  expect(warnings).toEqual([
    'The marks were not in order of time; they are sorted.',
    '1 mark repeats another at the same sample, which is read once.',
  ]);
  expect(dropped).toEqual(['1 mark outside the recording']);
});

test('marks that were counted at a higher rate and lie outside are said to be, with the rate', async () => {
  const on = { samplingRateHz: 250, sampleCount: 15_000, startedAt: null };
  const list = (hz: number) =>
    `sample\n${Array.from({ length: 70 }, (_, i) => Math.round(0.83 * hz * i)).join('\n')}\n`;
  expect((await read(list(1000), {}, on)).warnings).toEqual([
    'Most of the marks lie after the end. Were they counted at 1000 Hz, not 250 Hz? Then all lie inside.',
  ]);
  expect((await read(list(250), {}, on)).warnings).toEqual([]);
});

test.each([
  ['seconds', 'time_s\n', (i: number) => (i * 0.831).toFixed(3)],
  ['sample indices', 'sample\n', (i: number) => String(500_000 * i)],
])('many marks outside the recording are a doubt that names the remedy: %s', async (_unit, header, cell) => {
  const on = { samplingRateHz: 250, sampleCount: 15_000, startedAt: null };
  const { warnings, dropped } = await read(header + Array.from({ length: 700 }, (_, i) => cell(i)).join('\n'), {}, on);
  expect(dropped).toEqual([expect.stringMatching(/^\d+ marks outside the recording$/)]);
  expect(warnings).toEqual([
    expect.stringMatching(/^\d+ of 700 marks lie outside the recording .*list of another recording.*clock or unit off/),
  ]);
});

test.each([
  ['samples', 'sample\n900\n1100\n1300\n15', [900, 1100, 1300]],
  ['times with decimals of one length', 'time_s\n1.000\n2.000\n3.000\n4.1', [250, 500, 750]],
  ['RR intervals with decimals of one length', 'rr_s\n1.000\n1.000\n0.9', [0, 250, 500]],
])('a list cut inside its last number leaves that one out: %s', async (_what, text, expected) => {
  const { marks, warnings } = await read(text);
  expect([...marks]).toEqual(expected);
  const lines = text.split('\n');
  expect(warnings.join()).toContain(`ends inside line ${lines.length}, at “${lines.at(-1)}”`);
});

test('times of day begin after midnight on the next day, and a last one that is shorter is whole', async () => {
  const { marks, warnings } = await read('00:00:00.080\n00:00:00.840\n00:00:01.6', {});
  expect([...marks]).toEqual([520, 710, 900]);
  expect(warnings).toEqual([]);
  const dates = 'time\n2026-03-14T23:59:58.400\n2026-03-14T23:59:59.200\n2026-03-15T00:00:00.0';
  expect([...(await read(dates)).marks]).toEqual([100, 300, 500]);
});

test('without a start time of the recording the first time is its first sample', async () => {
  const { marks, warnings } = await read(
    '23:59:58.400\n23:59:59.200\n00:00:00.080\n',
    {},
    { ...clock, startedAt: null },
  );
  expect([...marks]).toEqual([0, 200, 420]);
  expect(warnings).toEqual(['The recording has no start time; the first mark is put at its first sample.']);
});

test('times as of a stopwatch count from the first sample, and that is reported', async () => {
  const watch = lines('', b => `0:00:0${(b / 250).toFixed(3)}`);
  const day = await read(watch, {}, { ...clock, startedAt: '2026-03-14T10:15:30' });
  expect([...day.marks]).toEqual(beats);
  expect(day.warnings).toEqual([
    'As times of day 6 of 6 marks lie outside the recording: they are read as times from its first sample.',
  ]);
  const none = await read(watch, {}, { ...clock, startedAt: null });
  expect([...none.marks]).toEqual(beats);
  expect(none.warnings).toEqual(['The recording has no start time; times are counted from its first sample.']);
  const both = await read(watch, {}, { ...clock, startedAt: '2026-03-14T00:00:00', sampleCount: 25_000 });
  expect([...both.marks]).toEqual(beats);
  expect(both.warnings).toEqual([]);
});

describe('times as of a stopwatch, minutes and seconds', () => {
  const hours = { samplingRateHz: 250, sampleCount: 250 * 7200, startedAt: '2026-03-14T08:30:00' };
  const at = (list: string[], on: MarksClock = hours) => read(`time\n${list.join('\n')}\n`, {}, on);

  test('go on past an hour, and where they begin again at 0 as well, which is said', async () => {
    const written = await at(['0:01.000', '59:59.200', '60:00.000', '1:00:00.800']);
    expect([...written.marks]).toEqual([250, 899_800, 900_000, 900_200]);
    expect(written.warnings).toEqual([]);
    const again = await at(['0:01.000', '59:59.200', '0:00.400', '59:59.200', '0:00.400']);
    expect([...again.marks]).toEqual([250, 899_800, 900_100, 1_799_800]);
    expect(again.warnings).toEqual(['The minutes begin again at 0, as no hours are written: they are counted on.']);
    expect(again.dropped).toEqual(['1 mark outside the recording']);
  });

  test('may be times of day without their hour: read so where they lie outside otherwise, else said', async () => {
    const minute = { ...hours, sampleCount: 15_000 };
    const ofDay = await at(['30:01.000', '30:01.800', '30:02.600'], minute);
    expect([...ofDay.marks]).toEqual([250, 450, 650]);
    expect(ofDay.warnings).toEqual([
      'Counted from the first sample 3 of 3 marks lie outside the recording: "30:01.000" is read as minutes and seconds of the time of day, without its hour.',
    ]);
    const over = await at(['59:59.000', '00:00.000'], { ...minute, startedAt: '2026-03-14T08:59:50' });
    expect([...over.marks]).toEqual([2250, 2500]);
    const next = await at(['00:01.000', '00:01.800'], {
      ...minute,
      sampleCount: 5000,
      startedAt: '2026-03-14T08:59:50',
    });
    expect([...next.marks]).toEqual([250, 450]);
    const either = await at(['30:01.000', '30:01.800']);
    expect([...either.marks]).toEqual([450_250, 450_450]);
    expect(either.warnings).toEqual([
      '"30:01.000" is counted from the first sample. If it is a time of day without its hour, the first mark is at 1.000 s.',
    ]);
    expect((await at(['30:01.000', '30:01.800'], { ...hours, startedAt: null })).warnings).toEqual([]);
  });

  test('a cell that is none names the line', async () => {
    const list = ['0:01.000', '0:01.800', '0:62.600', '0:03.400'];
    await expect(at(list)).rejects.toThrow(
      'line 4, column 1: "0:62.600" is none of minutes and seconds from the start',
    );
  });

  test('a comma that separates columns as well is refused with the line and what to do', async () => {
    for (const written of ['0:01', '08:30:01']) {
      const text = `time,beat\n${written},812,N\n${written.replace('01', '02')},048,N\n${written.replace('01', '03')},900,V\n`;
      await expect(previewMarks(sourceOf(text))).rejects.toThrow(
        `line 2: the comma separates columns and stands in the times as well: "${written},812". Export the list with semicolons`,
      );
    }
    const beside = 'time,rr_ms,beat\n0:01,812,N\n0:02,848,N\n0:03,1004,N\n';
    expect((await previewMarks(sourceOf(beside))).rows[0]).toEqual(['0:01', '812', 'N']);
  });

  test('a comma before intervals that go up and down separates', async () => {
    const layout = await previewMarks(sourceOf('0:01,812\n0:01,804\n0:01,790\n0:02,844\n0:02,800\n'));
    expect([layout.separator, layout.rows[0]]).toEqual([',', ['0:01', '812']]);
  });
});

test('more hours than a day has stand beside other columns', async () => {
  const long = { samplingRateHz: 250, sampleCount: 250 * 3600 * 48, startedAt: null };
  for (const mark of [',', '\t']) {
    const { layout, marks } = await read(
      `25:00:01.000${mark}N\n25:00:01.800${mark}N\n25:00:02.600${mark}V\n`,
      {},
      long,
    );
    expect([layout.separator, layout.rows[0]]).toEqual([mark, ['25:00:01.000', 'N']]);
    expect([...marks]).toEqual([22_500_250, 22_500_450, 22_500_650]);
  }
});

test.each([
  ['times', 'no;time;rr\n1;0:01.100;800\n2;0:01.900;810\n3;0:02.710;805\n', 1, 'elapsed'],
  ['times with fractions, not intervals', 'rr_ms;time\n800;0:01.100\n810;0:01.900\n805;0:02.710\n', 1, 'elapsed'],
  ['intervals, not times in whole seconds', 'time;rr_ms\n0:01;800\n0:01;810\n0:02;805\n', 1, 'rr-ms'],
  [
    'intervals, not times of day in whole seconds',
    'time;rr_ms\n08:30:01;800\n08:30:01;810\n08:30:02;805\n',
    1,
    'rr-ms',
  ],
  ['times, not heart rates', 'beat HR;time (s)\n70;0.8\n71;1.6\n70;2.4\n', 1, 's'],
  ['hours in brackets', 'no;peak (hr)\n1;0.0001\n2;0.0003\n3;0.0006\n', 1, 'h'],
  ['times beside dates', 'date;time\n14.03.2026;08:30:01.100\n14.03.2026;08:30:01.900\n', 1, 'clock'],
  ['values, not row numbers', 'no;peak\n1;100\n2;310\n3;520\n', 1, 'sample'],
  ['row numbers where there is nothing else', 'no;beat\n1;N\n2;N\n3;V\n', 0, 'sample'],
])('of several columns the marks are in that of %s', async (_what, text, column, unit) => {
  expect(await previewMarks(sourceOf(text), clock)).toMatchObject({ column, unit });
});

test('RR intervals that begin late are held to the end of the recording by their own length', async () => {
  // 10 s at 250 Hz; from 8 s on three of 0.5 s end at 9.5 s, within two intervals; from 6 s on at 7.5 s, 2.5 s too early
  const list = 'rr_ms\n500\n500\n500\n';
  expect((await read(list, { startSeconds: 8 })).warnings).toEqual([]);
  expect((await read(list, { startSeconds: 6 })).warnings).toEqual([
    'The RR intervals end shorter than the recording, at 7.500 s of 10.000 s: -2500 ms, -25.00 %.',
  ]);
  const odd = await read('rr_ms\n500\n0\n-20\n9000\n', { startSeconds: 0.4 });
  expect(odd.warnings).toEqual(['2 RR intervals are not above 0 and taken as 0.', expect.stringContaining('repeat')]);
  expect([...odd.marks]).toEqual([100, 225, 2475]);
});

test.each([
  ['a line end is there', 'sample\n900\n1100\n1300\n15\n', 4],
  ['the last one goes on', 'sample\n900\n950\n990\n1100', 4],
  ['all have decimals of their own', 'time_s\n1.5\n2.25\n3.125\n4', 4],
  ['RR intervals go up and down', 'rr_ms\n1000\n1010\n990', 4],
])('a last line is whole where %s', async (_what, text, count) => {
  const { marks, warnings } = await read(text);
  expect(marks).toHaveLength(count);
  expect(warnings.join()).not.toContain('cut');
});

test('a word among the marks names the line', async () => {
  await expect(read('sample\n100\n200\noops\n400\n')).rejects.toThrow(
    'list (marks), line 4, column 1: "oops" is none of sample indices. Repair the line or change the unit.',
  );
});

test('write, read, write gives the same bytes', async () => {
  const arbitrary = fc.tuple(
    fc.uniqueArray(fc.integer({ min: 0, max: 2499 }), { minLength: 2, maxLength: 80 }),
    fc.constantFrom(130, 250, 360, 512, 1000, 128.5),
    fc.constantFrom('sample', 's'),
  );
  await fc.assert(
    fc.asyncProperty(arbitrary, async ([values, samplingRateHz, unit]) => {
      const marks = marksFrom(values);
      const text = marksText(marks, samplingRateHz, unit as 'sample' | 's');
      const back = await read(text, {}, { samplingRateHz, sampleCount: 2500, startedAt: null });
      expect([...back.marks]).toEqual([...marks]);
      expect(marksText(back.marks, samplingRateHz, unit as 'sample' | 's')).toBe(text);
    }),
    { numRuns: amount(200, 20), seed: 11 },
  );
});

test('marks are written as samples, as times and as the intervals between them', () => {
  const marks = marksFrom([100, 300, 520]);
  expect(marksText(marks, 250)).toBe('sample\n100\n300\n520\n');
  expect(marksText(marks, 250, 's')).toBe('time_s\n0.400000\n1.200000\n2.080000\n');
  expect(marksText(marks, 250, 'rr-ms')).toBe('rr_ms\n800.000\n880.000\n');
});

test('RR intervals add up to the marks again', async () => {
  const marks = marksFrom(beats);
  const { marks: back } = await read(marksText(marks, 250, 'rr-ms'), { startSeconds: beats[0]! / 250 });
  expect([...back]).toEqual(beats);
});

// source: beats lie 0.2 to 3 s apart (common practice)
test('marks that come as no heart beats do are asked about', async () => {
  const asked = (doubts: readonly string[]) => doubts.filter(d => d.includes('apart in the median'));
  const times = Array.from({ length: 500 }, (_, i) => (i / 250).toFixed(3)).join('\n');
  expect(asked((await read(`time_s\n${times}\n`)).warnings)).toEqual([
    'The marks lie 0.004 s apart in the median; beats lie 0.2 to 3 s apart. Check their unit, and that this is a list of beats.',
  ]);
  const long = { ...clock, sampleCount: 2 ** 31 - 1 };
  const ticks = `RR (1/1024 s)\n${Array.from({ length: 20 }, (_, i) => 800 + i).join('\n')}\n`;
  expect(asked((await read(ticks, {}, long)).warnings)).toHaveLength(1);
  const even = Array.from({ length: 12 }, (_, i) => i * 200).join('\n');
  expect(asked((await read(`sample\n${even}\n`)).warnings)).toEqual([]);
});

// source: what the rows say
test('a row that sums up the list is no beat', async () => {
  const { marks, warnings } = await read('beat,RR (ms)\n1,800\n2,804\n3,796\nmean,800\nsd,4\n');
  expect(Array.from(marks)).toEqual([0, 200, 401, 600]);
  expect(warnings.filter(w => w.includes('sums up'))).toEqual([
    'Line 5, "mean 800", sums up the list; it and others like it are left out.',
  ]);
});

test('times with three decimals each beside whole RR intervals keep their decimal mark', async () => {
  const { layout, marks } = await read('time_s,rr_ms\n1.299,799\n2.101,802\n2.905,804\n3.700,795\n');
  expect([layout.unit, layout.decimalMark, layout.groupMark]).toEqual(['s', '.', '']);
  expect(Array.from(marks)).toEqual([325, 525, 726, 925]);
});

test('RR intervals without a value between others are asked about, as later marks lie too early', async () => {
  const { warnings } = await read('RR (ms)\n800\n810\n---\n\nNaN\n790\n805\n');
  expect(warnings).toContain(
    '2 RR intervals have no value, the first in line 4, column 1: all later marks lie too early by what is missing. ' +
      'Fill them in, or use a list of times.',
  );
  const ends = await read('beat;RR (ms)\n1;\n2;800\n3;810\n4;805\n5;-\n');
  expect(ends.warnings.filter(w => w.includes('no value'))).toEqual([]);
});
