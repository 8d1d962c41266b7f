import { describe, expect, test } from 'vitest';
import { sniff } from '../../../src/formats/open';
import { bytesSource } from '../../../src/formats/source';

const formatOf = async (text: string) => (await sniff(bytesSource('x', new TextEncoder().encode(text)))).format;
const column = (values: readonly (number | string)[], head = '') => `${head}${values.join('\n')}\n`;
const intervals = Array.from({ length: 60 }, (_, i) => 800 + 40 * ((i * 7) % 5) - 30 * (i % 3));

// source: what each kind of list holds, by its definition
describe('a text is told by what is in it', () => {
  test.each<[string, string, string]>([
    ['names of start and end', 'name,start,end\nrest,0,300\nuphill walk,300,600\n', 'text-segments'],
    ['names of onset and stop', 'label;onset;stop\nrest;0;300\n', 'text-segments'],
    ['rows of a word and two numbers', 'rest,0,300\nuphill walk,300,600\n', 'text-segments'],
    ['one column of intervals in ms', column(intervals), 'text-marks'],
    ['one column of intervals in s', column(intervals.map(v => v / 1000)), 'text-marks'],
    ['one column under the name of intervals', column(intervals, 'rr_ms\n'), 'text-marks'],
    ['one column that only rises', column([12, 220, 431, 640, 842, 1050]), 'text-marks'],
    [
      'a wave in one column',
      column(Array.from({ length: 200 }, (_, i) => Math.round(900 * Math.sin(i / 9)))),
      'text-signal',
    ],
    ['small steps about a level', column(Array.from({ length: 200 }, (_, i) => 40 + (i % 7))), 'text-signal'],
    ['a column of time and one of values', 'time,mV\n0.000,0.11\n0.004,0.12\n0.008,0.09\n', 'text-signal'],
  ])('%s', async (_name, text, format) => {
    expect(await formatOf(text)).toBe(format);
  });

  test('two letters of a zip file do not make one', async () => {
    expect(await formatOf('PKa,b\n1,2\n3,4\n')).not.toBe('bundle');
  });
});
