import { describe, expect, test } from 'vitest';
import { bytesSource } from '../../../src/formats/bytes/source';
import { sniff } from '../../../src/formats/open';

const formatOf = async (text: string) => (await sniff(bytesSource('x', new TextEncoder().encode(text)))).format;
const column = (values: readonly (number | string)[], head = '') => `${head}${values.join('\n')}\n`;
const intervals = Array.from({ length: 60 }, (_, i) => 800 + 40 * ((i * 7) % 5) - 30 * (i % 3));

// source: what each kind of list holds, by its definition
describe('a text is recognised by what is in it', () => {
  test.each<[string, string, string]>([
    ['names of start and end', 'name,start,end\nrest,0,300\nuphill walk,300,600\n', 'text-segments'],
    ['names of onset and stop', 'label;onset;stop\nrest;0;300\n', 'text-segments'],
    ['names of start and end, the name last', 'start,end,label\n0,300,rest\n300,600,uphill walk\n', 'text-segments'],
    ['a start without an end', 'start,mV\n0.000,0.11\n0.004,0.12\n0.008,0.09\n', 'text-signal'],
    ['rows of a time and two values', 'a,b,c\n0.000,0.11,0.2\n0.004,0.12,0.1\n0.008,0.09,0.3\n', 'text-signal'],
    ['a word in one row of three', '5,1,2\n4,2,3\nrest,1,2\n6,4,1\n5,2,2\n', 'text-signal'],
    ['rows of a word and a time and a number', 'rest,08:30:00,300\nwalk,08:35:00,600\n', 'text-signal'],
    ['one time among numbers', column(['08:30:00', 5, 7, 3, 9, 2, 8]), 'text-signal'],
    ['rows of a word and three numbers', 'rest,0,300,1\nuphill walk,300,600,2\n', 'text-signal'],
    ['values that only rise but for one that stays', column([800, 850, 900, 900, 950, 1000, 1050]), 'text-signal'],
    ['values around 800 that leap', column(intervals.map((v, i) => (i % 9 === 0 ? 9 * v : v))), 'text-signal'],
    ['rows of a word and two numbers', 'rest,0,300\nuphill walk,300,600\n', 'text-segments'],
    ['one column of intervals in ms', column(intervals), 'text-marks'],
    ['one column of intervals in s', column(intervals.map(v => v / 1000)), 'text-marks'],
    ['one column under the name of intervals', column(intervals, 'rr_ms\n'), 'text-marks'],
    ['times with a decimal comma and a label each', '0,275;N\n1,102;N\n1,940;N\n2,800;V\n', 'text-marks'],
    ['labels and times with a decimal comma', 'type;time\nN;0,275\nN;1,102\nV;1,940\nN;2,800\nN;3,610\n', 'text-marks'],
    ['times of day and a label each', '08:30:00.275 N\n08:30:01.102 N\n08:30:01.940 V\n', 'text-marks'],
    ['values that fall beside a word each', '0,275;N\n0,102;N\n-0,940;N\n0,800;V\n', 'text-signal'],
    ['minutes and seconds past an hour', 'rest,45:00,62:30\nuphill walk,62:30,75:00\n', 'text-segments'],
    ['a signal about 1024 under its own name', column(intervals, 'ECG (counts)\n'), 'text-signal'],
    ['one column that only rises', column([12, 220, 431, 640, 842, 1050]), 'text-marks'],
    [
      'a wave in one column',
      column(Array.from({ length: 200 }, (_, i) => Math.round(900 * Math.sin(i / 9)))),
      'text-signal',
    ],
    ['small steps about a level', column(Array.from({ length: 200 }, (_, i) => 40 + (i % 7))), 'text-signal'],
    ['a column of time and one of errors', 'time_s,err_ms\n0.8,800\n1.62,820\n2.41,790\n', 'text-signal'],
    ['intervals under a name of two words', 'time_s,heart rr_ms\n0.8,800\n1.62,820\n2.41,790\n', 'text-marks'],
    ['a column of time and one of values', 'time,mV\n0.000,0.11\n0.004,0.12\n0.008,0.09\n', 'text-signal'],
  ])('%s', async (_name, text, format) => {
    expect(await formatOf(text)).toBe(format);
  });

  test('a text of another width of letters is refused with what to do', async () => {
    const wide = new Uint8Array([0xff, 0xfe, ...[...'1\n2\n3\n'].flatMap(c => [c.charCodeAt(0), 0])]);
    await expect(sniff(bytesSource('x', wide))).rejects.toThrow(/UTF-16.*Save it as UTF-8/);
    const turned = new Uint8Array([0xfe, 0xff, ...[...'1\n2\n3\n'].flatMap(c => [0, c.charCodeAt(0)])]);
    await expect(sniff(bytesSource('x', turned))).rejects.toThrow(/UTF-16.*Save it as UTF-8/);
  });

  test('a few control letters are let pass in a text, many make it words of a recorder', async () => {
    const rows = '1,2\n3,4\n'.repeat(1000);
    expect(await formatOf(`# \x1b[1mbold\x1b[0m\n${rows}`)).toBe('text-signal');
    expect(await formatOf(`# \x1b\x1b\x1b\x1b\x1b\x1b\x1b\x1b\x1b\x1b\n${rows}`)).toBe('text-signal');
    expect(await formatOf(`# \x02${rows}`)).toBe('text-signal');
    for (const control of ['\x01', '\x08', '\x0e', '\x1f']) {
      expect(await formatOf(`# ${control.repeat(20)}\n${rows}`)).toBe('raw');
    }
  });

  test('a signal is recognised by its columns of values, a time column apart', async () => {
    const why = async (text: string) => (await sniff(bytesSource('x', new TextEncoder().encode(text)))).why;
    expect(await why('t_ms,A (mV),B (mV)\n0,1,2\n4,2,3\n8,1,2\n')).toBe('a time column and 2 of values');
    expect(await why('A (mV),B (mV)\n3,2\n1,3\n2,2\n')).toBe('2 columns of values');
  });

  test('two letters of a zip file do not make one', async () => {
    expect(await formatOf('PKa,b\n1,2\n3,4\n')).not.toBe('bundle');
    for (const head of ['P\0\x03\x04', 'PK\0\x04', 'PK\x03\0', '\0K\x03\x04']) {
      expect(await formatOf(`${head}\0\x01\0\x02`)).toBe('raw');
    }
  });

  test('a file that cannot be read any more is not taken for words of a recorder', async () => {
    const { read, ...rest } = bytesSource('x', new TextEncoder().encode('1,2\n3,4\n'));
    let reads = 0;
    const gone = async (start: number, end: number) => {
      if (reads++ > 0) throw new Error('the file was moved');
      return read(start, end);
    };
    await expect(sniff({ ...rest, read: gone })).rejects.toThrow('the file was moved');
  });
});
