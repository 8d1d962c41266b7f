import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { LeadSamples, Recording } from '../../../../src/core/recording/recording';
import { span } from '../../../../src/core/units';
import { arraySamples, memorySink } from '../../../../src/formats/bytes/memory-sink';
import { bytesSource } from '../../../../src/formats/bytes/source';
import { signalCsvBlocks } from '../../../../src/formats/csv/signal';
import type { TextLayout } from '../../../../src/formats/text/layout';
import { previewText } from '../../../../src/formats/text/layout';
import { readTextSignal } from '../../../../src/formats/text/signal';
import { amount } from '../../amount';
import { lead, recordingWith } from '../edf/fixtures';
import { bytesOf, readText as read } from './fixtures';

const beats = [0, 0.125, -0.25, 1.5, 0.75, -0.125, 0, 0.5];
const rows = (cells: (v: number, i: number) => string, end = '\n') => beats.map((v, i) => cells(v, i) + end).join('');
const comma = (v: number) => String(v).replace('.', ',');
const at = (i: number) => `2026-03-14T08:30:0${Math.floor((i * 4) / 1000)}.${String(i * 4).padStart(3, '0')}`;
const withColon = (time: string) => time.replace('.', ':');

describe('variants of one strip at 250 Hz', () => {
  const cases: [string, string, Partial<TextLayout>?][] = [
    ['values only', rows(v => `${v}`), { samplingRateHz: 250 }],
    ['values with decimal comma', rows(v => comma(v)), { samplingRateHz: 250 }],
    ['values with a rate in a comment', `# fs = 250 Hz\n${rows(v => `${v}`)}`],
    ['header and unit', `time (s),ECG (mV)\n${rows((v, i) => `${i * 0.004},${v}`)}`],
    ['microvolts', `time (s),ECG (uV)\n${rows((v, i) => `${i * 0.004},${v * 1000}`)}`],
    ['volts', `time_s;ecg_V\n${rows((v, i) => `${i * 0.004};${(v / 1000).toFixed(6)}`)}`],
    ['tabs', `t\tecg_mV\n${rows((v, i) => `${(i * 0.004).toFixed(3)}\t${v}`)}`],
    ['semicolons and decimal commas', `Zeit (s);EKG (mV)\n${rows((v, i) => `${comma(i * 0.004)};${comma(v)}`)}`],
    ['runs of spaces', rows((v, i) => `   ${(i * 0.004).toFixed(3)}    ${v} `)],
    ['ms', `time_ms,ECG [mV]\n${rows((v, i) => `${i * 4},${v}`)}`],
    ['us', `time (us),ECG [mV]\n${rows((v, i) => `${i * 4000},${v}`)}`],
    ['ns', `time (ns),ECG [mV]\n${rows((v, i) => `${i * 4_000_000},${v}`)}`],
    ['ms without a header', rows((v, i) => `${i * 4},${v}`)],
    ['ISO 8601', `time,ECG (mV)\n${rows((v, i) => `${at(i)},${v}`)}`],
    ['ISO 8601 with a zone and a space', `time,ECG (mV)\n${rows((v, i) => `${at(i).replace('T', ' ')}Z,${v}`)}`],
    ['the day first', `time;ECG (mV)\n${rows((v, i) => `14.03.2026 ${at(i).slice(11)};${v}`)}`],
    ['time of day', `clock,ECG (mV)\n${rows((v, i) => `${at(i).slice(11)},${v}`)}`],
    ['time of day, a colon before its ms', `clock,ECG (mV)\n${rows((v, i) => `${withColon(at(i).slice(11))},${v}`)}`],
    ['minutes, a colon before the ms', `time,ECG (mV)\n${rows((v, i) => `720:${withColon(at(i).slice(17))},${v}`)}`],
    ['minutes, tabs', `time\tECG (mV)\n${rows((v, i) => `75:${at(i).slice(17)}\t${v}`)}`],
    ['epoch s', `timestamp,ECG (mV)\n${rows((v, i) => `${(1773477000 + i * 0.004).toFixed(3)},${v}`)}`],
    ['epoch ms', `timestamp,ECG (mV)\n${rows((v, i) => `${1773477000000 + i * 4},${v}`)}`],
    ['stamps under a name that says s', `time (s),ECG (mV)\n${rows((v, i) => `${at(i)},${v}`)}`],
    ['times of day under a name that says ms', `time_ms,ECG (mV)\n${rows((v, i) => `${at(i).slice(11)},${v}`)}`],
    ['sample counter', `# sampling rate: 250\nsample,ECG (mV)\n${rows((v, i) => `${i},${v}`)}`],
    ['CRLF', `time (s),ECG (mV)\r\n${rows((v, i) => `${i * 0.004},${v}`, '\r\n')}`],
    ['CR', `time (s),ECG (mV)\r${rows((v, i) => `${i * 0.004},${v}`, '\r')}`],
    ['byte order mark', `\ufefftime (s),ECG (mV)\n${rows((v, i) => `${i * 0.004},${v}`)}`],
    ['no last line end', `time (s),ECG (mV)\n${rows((v, i) => `${i * 0.004},${v}`)}`.trimEnd()],
    ['quotes', `"time (s)","ECG (mV)"\n${rows((v, i) => `"${i * 0.004}","${v}"`)}`],
    ['comments between', `% day 1\ntime (s),ECG (mV)\n${rows((v, i) => `// row ${i}\n${i * 0.004},${v}\n\n; end`)}`],
    ['preamble', `Recorder: chest band\nPlace: hut\n\ntime (s),ECG (mV)\n${rows((v, i) => `${i * 0.004},${v}`)}`],
    ['a text column', `time (s),note,ECG (mV)\n${rows((v, i) => `${i * 0.004},"a, b",${v}`)}`],
    ['exponents', `time (s),ECG (mV)\n${rows((v, i) => `${i * 0.004},${v.toExponential()}`)}`],
    ['plus signs', `time (s),ECG (mV)\n${rows((v, i) => `${i * 0.004},${v < 0 ? v : `+${v}`}`)}`],
  ];
  test.each(cases)('%s', async (_name, text, change) => {
    const { opened, mv } = await read(text, change);
    expect(mv).toEqual([beats]);
    expect(opened.recording.samplingRateHz).toBeCloseTo(250, 9);
    expect(opened.recording.sampleCount).toBe(8);
    expect(opened.recording.gaps).toEqual([]);
  });
});

describe('what was understood', () => {
  test('a preview says it all and leaves room for doubt', async () => {
    const layout = await previewText(bytesSource('x', bytesOf(rows((v, i) => `${i * 4};${comma(v)};${i}`))));
    expect(layout).toMatchObject({
      separator: ';',
      decimalMark: ',',
      firstDataLine: 1,
      timeFormat: 'ms',
      samplingRateHz: 250,
    });
    expect(layout.columns.map(c => [c.role, c.unit])).toEqual([
      ['time', ''],
      ['value', 'mV'],
      ['ignore', ''],
    ]);
    expect(layout.rows[1]).toEqual(['4', '0,125', '1']);
    expect(layout.doubts[0]).toBe('Column 1 does not say its unit; by its steps it is in ms.');
    expect(layout.doubts[1]).toMatch(/column 2 does not say its unit; values that swing by 1.75 are read as mV/);
  });

  test('values alone ask for the rate', async () => {
    const source = bytesSource('x', bytesOf(rows(v => `${v}`)));
    const layout = await previewText(source);
    expect(layout.samplingRateHz).toBeNull();
    expect(layout.doubts).toContain('Nothing says the sampling rate: it must be given.');
    await expect(readTextSignal(source, layout, memorySink())).rejects.toThrow(
      'x (text), layout: the sampling rate is not known. Give it in Hz.',
    );
  });

  test('start time from ISO and epoch stamps', async () => {
    expect((await read(`time,ECG (mV)\n${rows((v, i) => `${at(i)},${v}`)}`)).opened.recording.startedAt).toBe(
      '2026-03-14T08:30:00',
    );
    const epoch = await read(`timestamp,ECG (mV)\n${rows((v, i) => `${1773477000500 + i * 4},${v}`)}`);
    expect(epoch.opened.recording.startedAt).toBe('2026-03-14T08:30:00.500');
    expect(epoch.opened.warnings[0]).toMatch(/UTC/);
  });

  test('stamps rounded to whole ms do not bend the rate', async () => {
    // a chest band at 130 Hz: 1000/130 = 7.69 ms, so steps of 7 and 8 ms; the median step alone would say 125 Hz
    const text = Array.from({ length: 4000 }, (_, i) => `${Math.round((i * 1000) / 130)},${i % 50}`).join('\n');
    const { opened } = await read(`time_ms,ECG (uV)\n${text}\n`);
    expect(opened.recording.samplingRateHz).toBe(130);
    expect(opened.recording.gaps).toEqual([]);
    expect(opened.timing.worstDriftMs).toBeLessThanOrEqual(1);
    expect(opened.timing.offGridRows).toBe(0);
  });
});

describe('a header among the rows, as where files were put behind each other', () => {
  const both = (top: string, again: string, time: boolean) => {
    const row = (i: number) =>
      `${time ? `${(i / 250).toFixed(3)},` : ''}${(i % 50) / 50}${top.includes('II') ? ',1' : ''}`;
    const rows = (from: number) => Array.from({ length: 200 }, (_, i) => row(from + i)).join('\n');
    return read(`# fs 250 Hz\n${top}\n${rows(0)}\n${again}\n${rows(200)}\n`);
  };

  test('is left out where it says the same', async () => {
    const { opened } = await both('time_s,ECG (mV)', 'time_s,ECG (mV)', true);
    expect(opened.recording.sampleCount).toBe(400);
  });

  test.each([
    ['time_s,ECG (mV)', 'time_s,ECG (uV)', true],
    ['ECG (mV)', 'ECG (uV)', false],
    ['time_s,I (mV),II (mV)', 'time_s,II (mV),I (mV)', true],
  ])('%s and then %s is refused', async (top, again, time) => {
    await expect(both(top, again, time)).rejects.toThrow(
      `line 203, column 1: "${again}" names other units or another order of columns than the header above.`,
    );
  });
});

describe('irregular sampling and gaps', () => {
  const hms = (seconds: number, decimals: number) => {
    const two = (n: number) => String(Math.floor(n)).padStart(2, '0');
    const whole = Math.floor(seconds + 1e-6);
    const fraction = (seconds - whole + 1e-6).toFixed(decimals).slice(1);
    return `${two(whole / 3600)}:${two((whole / 60) % 60)}:${two(whole % 60)}${decimals > 0 ? fraction : ''}`;
  };

  test.each([
    ['with a fraction, over the end of the first day', 86_395, 3],
    ['with a fraction, on the second day', 108_000, 3],
    ['with a fraction, beyond 100 hours', 442_800, 3],
    ['in whole seconds', 108_000, 0],
  ])('times since a start of more than 24 hours, %s', async (_, from, decimals) => {
    const rows = Array.from({ length: 2500 }, (_, i) => `${hms(from + i / 250, decimals)},${(i % 50) / 50}`).join('\n');
    const { opened } = await read(`time,ECG (mV)\n${rows}\n`);
    expect(opened.recording).toMatchObject({ samplingRateHz: 250, sampleCount: 2500, gaps: [], startedAt: null });
    expect(opened.timing.firstTimeSeconds).toBeCloseTo(from, 1);
  });

  test.each([
    ['float32 seconds late in a recording', 500, (t: number) => String(Math.fround(20_000 + t))],
    ['the shortest digits of such', 500, (t: number) => Math.fround(20_000 + t).toPrecision(8)],
    ['float32 seconds that two rows share', 250, (t: number) => String(Math.fround(70_000 + t))],
    ['a clock of 1/1024 s', 1000, (t: number) => (Math.floor(t * 1024) / 1024).toFixed(6)],
  ])('%s make no gaps', async (_, rate, said) => {
    const rows = Array.from({ length: 5000 }, (_, i) => `${said(i / rate)},${(i % 50) / 50}`).join('\n');
    const { opened } = await read(`time_s,ECG (mV)\n${rows}\n`);
    expect(opened.recording).toMatchObject({ samplingRateHz: rate, sampleCount: 5000, gaps: [] });
  });

  test('a gap is found by stamps with a colon before their ms', async () => {
    const ms = Array.from({ length: 500 }, (_, i) => 4 * i + (i < 250 ? 0 : 400));
    const cell = (t: number) => `00:0${Math.floor(t / 1000)}:${String(t % 1000).padStart(3, '0')}`;
    const { opened } = await read(`time,ECG (mV)\n${ms.map((t, i) => `${cell(t)},${i % 7}`).join('\n')}\n`);
    expect(opened.recording).toMatchObject({ samplingRateHz: 250, sampleCount: 600, gaps: [{ start: 250, end: 350 }] });
  });

  const strip = (times: readonly number[]) => `time_ms,ECG (uV)\n${times.map((t, i) => `${t},${i + 1}`).join('\n')}\n`;
  const even = (n: number, from = 0) => Array.from({ length: n }, (_, i) => from + i * 4);

  test('a gap stays a gap on the time line', async () => {
    const { opened, sink } = await read(strip([...even(100), ...even(100, 1000)]));
    expect(opened.recording.gaps).toEqual([{ start: 100, end: 250 }]);
    expect(opened.recording.sampleCount).toBe(350);
    expect(opened.recording.leads[0]!.unrecorded).toEqual([{ start: 100, end: 250 }]);
    expect(sink.lead(0)).toHaveLength(200);
    expect(await sink.samples(0).read(98, 102)).toEqual(Int16Array.of(99, 100, 0, 0));
    expect(await sink.samples(0).read(248, 252)).toEqual(Int16Array.of(0, 0, 101, 102));
  });

  test.each([1, 2, 3])('%i lost samples are a gap of as many', async lost => {
    const { opened } = await read(strip([...even(50), ...even(50, (50 + lost) * 4)]));
    expect(opened.recording.gaps).toEqual([{ start: 50, end: 50 + lost }]);
  });

  test('jitter below half a sample changes nothing and is reported', async () => {
    const { opened } = await read(strip(even(500).map((t, i) => t + (i % 3 === 1 ? 1.5 : 0))));
    expect(opened.recording.sampleCount).toBe(500);
    expect(opened.recording.gaps).toEqual([]);
    expect(opened.timing.worstStepMs).toBeCloseTo(1.5, 6);
    expect(opened.timing.worstDriftMs).toBeCloseTo(1.5, 6);
  });

  test('a wrong rate is refused with the rate of the stamps, unless accepted', async () => {
    const text = strip(even(5000));
    await expect(read(text, { samplingRateHz: 251 })).rejects.toThrow(
      /strip.dat \(text\), line 5001: .*half a sample.*251 Hz.*run at 250 Hz.*Correct the sampling rate/,
    );
    const { opened } = await read(text, { samplingRateHz: 251, acceptIrregular: true });
    expect(opened.recording.sampleCount).toBe(5000);
    expect(opened.warnings[0]).toBe('The time stamps run at 250 Hz; read at 251 Hz as asked.');
    expect(opened.warnings[1]).toMatch(/stamps lie more than half a sample off/);
  });

  test('stamps set once per packet give the rate of the rows', async () => {
    const times = Array.from({ length: 2000 }, (_, i) => Math.floor(i / 50) * 200);
    const { opened, layout } = await read(strip(times));
    expect(layout.doubts).toContainEqual(expect.stringMatching(/About 50 rows share a time stamp.*run at 250 Hz/));
    expect(opened.timing.rowsPerStamp).toBe(50);
    expect(opened.recording).toMatchObject({ samplingRateHz: 250, sampleCount: 2000, gaps: [] });
  });

  test('time that goes back names the line', async () => {
    await expect(read(strip([...even(50), ...even(50, 40)]))).rejects.toThrow(/line 52: time goes back by 156.0 ms/);
  });

  test('a gap of weeks is kept, and takes no room', async () => {
    const { opened, sink } = await read(strip([...even(50), ...even(50, 20 * 86_400_000)]));
    expect(opened.recording).toMatchObject({ sampleCount: 432_000_050, gaps: [{ start: 50, end: 432_000_000 }] });
    expect(sink.lead(0)).toHaveLength(100);
  });

  test('a gap of months at this rate is refused', async () => {
    await expect(read(strip([...even(50), ...even(50, 120 * 86_400_000)]))).rejects.toThrow(
      /line 52: the time line would be 120.0 days/,
    );
  });

  test('a time of day runs over midnight', async () => {
    const clock = (i: number) => new Date(86_399_900 + i * 4).toISOString().slice(11, 23);
    const { opened } = await read(
      `clock,ECG (mV)\n${Array.from({ length: 100 }, (_, i) => `${clock(i)},${i}`).join('\n')}`,
    );
    expect(opened.recording.sampleCount).toBe(100);
    expect(opened.recording.gaps).toEqual([]);
  });

  test('empty rows are gaps, empty cells are reported', async () => {
    const { opened } = await read('time_ms,A (mV),B (mV)\n0,1,2\n4,,\n8,,3\n12,nan,4\n16,5,5\n');
    expect(opened.recording.gaps).toEqual([{ start: 1, end: 2 }]);
    expect(opened.warnings).toEqual([
      '1 row holds no value and is kept as no signal.',
      '2 empty cells are read as 0 mV.',
    ]);
    const { opened: one } = await read('time_ms,A (mV)\n0,1\n4,nan\n8,nan\n12,4\n16,5\n');
    expect(one.warnings).toEqual(['2 rows hold no value and are kept as no signal.']);
    expect(one.understood).toContain('1 gap is kept as no signal.');
  });

  test('the rate may stand above the rows without a comment sign', async () => {
    const { opened } = await read(`Recorder: X1\nSampling rate: 360 Hz\n\nECG (mV)\n${'0.1\n0.2\n'.repeat(20)}`);
    expect(opened.recording).toMatchObject({ samplingRateHz: 360, sampleCount: 40 });
  });

  test('times in minutes, when their name says so', async () => {
    const rows = Array.from({ length: 100 }, (_, i) => `${(i / 250 / 60).toFixed(7)},${i}`);
    const { opened } = await read(`time_min,ECG (mV)\n${rows.join('\n')}\n`);
    expect(opened.recording).toMatchObject({ samplingRateHz: 250, sampleCount: 100, gaps: [] });
    expect(opened.recording.leads.map(l => l.name)).toEqual(['ECG']);
  });

  test('a text that is no UTF-8 is taken as Windows-1252: names and units are kept', async () => {
    // source: Windows-1252, 0xb5 is the micro sign and 0xfc ü
    const rows = Array.from({ length: 20 }, (_, i) => `${i * 4};${i}`);
    const bytes = Uint8Array.from(`time_ms;Gürtel (µV)\n${rows.join('\n')}\n`, c => c.charCodeAt(0));
    const { columns, doubts } = await previewText(bytesSource('x', bytes));
    expect(columns[1]).toMatchObject({ name: 'Gürtel', unit: 'uV' });
    expect(doubts).toEqual([]);
  });

  test.each([
    ['’', 0x92],
    ['no-break space', 0xa0],
  ])('groups of digits with a %s in Windows-1252 are read as the preview shows them', async (_, mark) => {
    const rows = Array.from(
      { length: 40 },
      (_, i) => `${i * 4};${i % 5 === 0 ? `12${String.fromCharCode(mark)}500` : i}`,
    );
    const bytes = Uint8Array.from(`time_ms;ECG (µV)\n${rows.join('\n')}\n`, c => c.charCodeAt(0));
    const { mv, opened } = await read(bytes);
    expect(mv[0]!.slice(0, 6)).toEqual([12.5, 0.001, 0.002, 0.003, 0.004, 12.5]);
    expect(opened.warnings).toEqual([]);
  });

  test.each([
    ['byte order mark', '\ufefftime_ms;ECG (uV)', 'uV'],
    ['other characters', 'time_ms;ECG (µV)', 'uV'],
  ])('UTF-8 with a damaged byte stays UTF-8, as its %s show', async (_, header, unit) => {
    const bytes = bytesOf(`${header}\n${Array.from({ length: 40 }, (_, i) => `${i * 4};${i % 7}`).join('\n')}\n`);
    bytes[bytes.length - 2] = 0xff;
    const { columns, understood } = await previewText(bytesSource('x', bytes));
    expect(columns.map(c => [c.name, c.unit])).toEqual([
      ['time_ms', ''],
      ['ECG', unit],
    ]);
    expect(understood).toContain('Sampling rate 250 Hz.');
  });

  test.each([
    ['time since 5 min of rest (s)', 's'],
    ['Time [min]', 'min'],
  ])('the unit of "%s"', async (name, format) => {
    const rows = Array.from({ length: 40 }, (_, i) => `${((i * 0.004) / (format === 'min' ? 60 : 1)).toFixed(8)};${i}`);
    const layout = await previewText(bytesSource('x', bytesOf(`${name};ECG (mV)\n${rows.join('\n')}\n`)));
    expect(layout.timeFormat).toBe(format);
  });

  test('a unit in the name of a column is that of numbers: one of other texts is no time', async () => {
    const rows = Array.from({ length: 40 }, (_, i) => `0m0.${String(i * 4).padStart(3, '0')}s;${i}`);
    const text = `Time (min);ECG (mV)\n${rows.join('\n')}\n`;
    const { layout, opened } = await read(text, { samplingRateHz: 250 });
    expect(layout.doubts).toContain('Nothing says the sampling rate: it must be given.');
    expect(opened.recording).toMatchObject({ samplingRateHz: 250, sampleCount: 40 });
  });

  test('the first time is said to the microsecond', async () => {
    const rows = Array.from({ length: 200 }, (_, i) => `${(i / 360).toFixed(2)},${i}`);
    const { opened } = await read(`time_s,ECG (mV)\n${rows.join('\n')}\n`);
    expect(opened.understood.find(l => l.startsWith('The first sample'))).toMatch(/ at -?\d+(\.\d{1,6})? s by/);
  });
});

describe('storage', () => {
  test.each([
    ['1\n2\n300\n', 'int16', 0],
    ['1\n2\n30000000\n', 'int32', 0],
    ['0.125\n1.5\n3.25\n', 'int16', 3],
    ['123.456789\n1\n2\n', 'int32', 6],
    ['1e-3\n2e-3\n3e-3\n', 'float32', 0],
  ])('%j is kept as %s', async (text, format, decimals) => {
    const layout = await previewText(bytesSource('x', bytesOf(text)));
    expect(layout.columns[0]).toMatchObject({ format, decimals });
  });

  const late = `ECG (uV)\n${'5\n'.repeat(200_000)}`;
  test.each([
    ['40000\n', 'int32'],
    ['0.5\n', 'float32'],
    ['40000\n0.5\n', 'float32'],
  ])('a late %j widens the lead to %s', async (tail, format) => {
    const { opened, sink } = await read(late + tail, { samplingRateHz: 250 });
    expect(opened.recording.leads[0]!.format).toBe(format);
    expect(sink.lead(0)).toHaveLength(200_000 + tail.split('\n').length - 1);
    expect(sink.lead(0)[199_999]).toBe(5);
    expect(sink.lead(0).at(-1)).toBe(Number(tail.trim().split('\n').at(-1)));
  });

  test('leads that turn out too wide one after the other cost one more read, not one each', async () => {
    const names = Array.from({ length: 12 }, (_, k) => `lead ${k + 1} (uV)`);
    const row = (wide: number) => names.map((_, k) => (k === wide ? 40_000 + k : k)).join(',');
    const tails = [...names.keys()].map(k => row(k));
    const text = `${[names.join(','), ...Array.from({ length: 20_000 }, () => row(-1)), ...tails].join('\n')}\n`;
    const sink = memorySink();
    let restarts = 0;
    const counting = {
      ...sink,
      restart() {
        restarts++;
        return sink.restart?.();
      },
    };
    const source = bytesSource('x', bytesOf(text));
    const layout = { ...(await previewText(source)), samplingRateHz: 250 };
    const opened = await readTextSignal(source, layout, counting);
    expect(restarts).toBe(1);
    expect(opened.recording.leads.map(l => l.format)).toEqual(names.map(() => 'int32'));
    for (const k of names.keys()) {
      expect(sink.lead(k)).toHaveLength(20_012);
      expect(sink.lead(k).slice(-12)).toEqual(Int32Array.from(names, (_, i) => (i === k ? 40_000 + k : k)));
    }
  });

  test('a sink that cannot restart gets the advice instead', async () => {
    const source = bytesSource('x', bytesOf(`${late}40000\n`));
    const layout = { ...(await previewText(source)), samplingRateHz: 250 };
    await expect(readTextSignal(source, layout, { write: () => {}, skip: () => {} })).rejects.toThrow(
      /line 200002: column 1 .*Store this column as int32/,
    );
  });
});

describe('damage names the place', () => {
  test.each([
    ['time (s),ECG (mV)\n0,1\n0.004,2\n0.008,x\n0.012,3\n', /line 4, column 2: "x" is no number/],
    [
      'time (s),A (mV),B (mV)\n0,1,1\n0.004,2,2\n0.008,3\n0.012,4,4\n',
      /line 4, column 3: the line has 2 columns, not 3/,
    ],
    ['\xff\xfe1\0', /zero bytes/],
    ['only words here\nand here\n', /no line holds rows of numbers/],
  ])('%j', async (text, message) => {
    await expect(read(text, { samplingRateHz: 250 })).rejects.toThrow(message);
  });

  test('UTF-16 is named', async () => {
    await expect(read(Uint8Array.from([0xff, 0xfe, 0x31, 0]))).rejects.toThrow(/UTF-16. Save it as UTF-8/);
  });

  test('a cut last line is let go', async () => {
    const { opened } = await read('time (s),ECG (mV)\n0,1\n0.004,2\n0.008,3\n0.012,4\n0.016');
    expect(opened.recording.sampleCount).toBe(4);
  });

  test('a line of more than a megabyte', async () => {
    const text = `${'5\n'.repeat(200_000)}${'5'.padEnd(1_200_000)}\n`;
    await expect(read(text, { samplingRateHz: 250 })).rejects.toThrow(
      /line 200001, column 1: the line is 1200001 bytes/,
    );
    await expect(read(`${'5\n'.repeat(200_000)}${'5'.padEnd(9_000_000)}\n6`, { samplingRateHz: 250 })).rejects.toThrow(
      /no line ends within/,
    );
  });
});

test('blocks join without a seam', async () => {
  // At 11 bytes a row two seams between blocks of 4 MiB, or one.
  const rows = amount(900_000, 410_000);
  const values = Array.from({ length: rows }, (_, i) => ((i * 7919) % 4001) - 2000);
  const { sink } = await read(`ECG (uV),II (uV)\r\n${values.map(v => `${v},${-v}`).join('\r\n')}`, {
    samplingRateHz: 500,
  });
  expect(sink.lead(0)).toHaveLength(rows);
  expect(values.findIndex((v, i) => sink.lead(0)[i] !== v || sink.lead(1)[i] !== (-v | 0))).toBe(-1);
});

test('any table of numbers comes back exactly', async () => {
  const arbitrary = fc.record({
    values: fc.array(fc.integer({ min: -99_999, max: 99_999 }), { minLength: 3, maxLength: 60 }),
    decimals: fc.integer({ min: 0, max: 4 }),
    separator: fc.constantFrom(',', ';', '\t', '  '),
    mark: fc.constantFrom('.', ','),
    end: fc.constantFrom('\n', '\r\n', '\r'),
  });
  await fc.assert(
    fc.asyncProperty(arbitrary, async c => {
      const mark = c.separator === ',' ? '.' : c.mark;
      const cell = (v: number) => (v / 10 ** c.decimals).toFixed(c.decimals).replace('.', mark);
      const text = `time_ms${c.separator}a_mV${c.separator}b_mV${c.end}${c.values.map((v, i) => [i * 4, cell(v), cell(-v)].join(c.separator)).join(c.end)}`;
      const { mv } = await read(text, { decimalMark: mark as '.' | ',' });
      const expected = c.values.map(v => Math.round((v / 10 ** c.decimals) * 1e6) / 1e6);
      expect(mv[0]!.map(v => v + 0)).toEqual(expected.map(v => v + 0));
      expect(mv[1]!.map(v => v + 0)).toEqual(expected.map(v => 0 - v));
    }),
    { numRuns: amount(200, 20), seed: 7 },
  );
});

test('a recording written as text comes back with its gaps, and writes the same text', async () => {
  const words = Int16Array.from({ length: 900 }, (_, i) =>
    i >= 300 && i < 450 ? 0 : Math.round(800 * Math.sin(i / 9)) + (i % 7),
  );
  const leads = [lead('ECG', 130, 900), lead('II', 130, 900, { mvPerUnit: 0.001 })];
  const recording = recordingWith(leads, { gaps: [span(300, 450)] });
  const text = async (r: Recording, samples: LeadSamples[]) => {
    let out = '';
    for await (const block of signalCsvBlocks(r, samples)) out += block;
    return out;
  };
  const written = await text(recording, [arraySamples(words), arraySamples(words)]);
  const { opened, sink, mv } = await read(written);
  expect(opened.recording.gaps).toEqual([span(300, 450)]);
  expect(opened.recording.samplingRateHz).toBe(130);
  const recorded = [...words.subarray(0, 300), ...words.subarray(450)];
  expect(mv[0]).toEqual(recorded.map(w => Math.round(w * 0.005 * 1e6) / 1e6));
  expect(await text(opened.recording, [sink.samples(0), sink.samples(1)])).toBe(written);
});
