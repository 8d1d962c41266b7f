import { describe, expect, test, vi } from 'vitest';
import { zeroWord } from '../../../../src/core/recording/pieces';
import { memorySink } from '../../../../src/formats/bytes/memory-sink';
import { bytesSource } from '../../../../src/formats/bytes/source';
import { FormatError } from '../../../../src/formats/format-error';
import { previewText, type TextLayout } from '../../../../src/formats/text/layout';
import { RowParser } from '../../../../src/formats/text/parser';
import { readTextSignal } from '../../../../src/formats/text/signal';
import { checkTimeline } from '../../../../src/formats/timeline';
import { bytesOf, readText } from './fixtures';

const rate = { samplingRateHz: 250 };

// source: what each cell says in decimal notation
describe('cells of a signal', () => {
  test.each<[string, string, number[]]>([
    ['exponents', '12e-3\n1.25E2\n-3e1\n.5e1\n+15.5e+0\n', [0.012, 125, -30, 5, 15.5]],
    ['bare points', '.5\n-.25\n+.125\n5.\n', [0.5, -0.25, 0.125, 5]],
    ['quotes', '"1.5"\n"-2.25"\n"+3"\n " 4" \n', [1.5, -2.25, 3, 4]],
    ['quotes around exponents', '"1.5e1"\n"-2e-1"\n"3"\n', [15, -0.2, 3]],
    ['many digits', '0.123456\n-987.654321\n1\n', [0.123456, -987.654321, 1]],
    ['blanks at the edges', ' 1.5 \n  -2\n3  \n', [1.5, -2, 3]],
    [
      'words for nothing',
      '1\nNaN\n2\n-\n3\n--\n4\nn/a\n5\nnull\n4\nNone\n3\ninf\n2\n-Infinity\n1\nNA\n2\n',
      [1, 0, 2, 0, 3, 0, 4, 0, 5, 0, 4, 0, 3, 0, 2, 0, 1, 0, 2],
    ],
  ])('%s', async (_name, text, values) => {
    const { mv } = await readText(`ECG (mV)\n${text}`, rate);
    expect(mv).toEqual([values]);
  });

  test('exponents of 18 places are read to the last bit, and make no helper object a cell', async () => {
    const values = Array.from({ length: 500 }, (_, i) => Math.sin(i) * 10 ** ((i % 7) - 5));
    const text = values.map(v => `${v.toExponential(18)}\n`).join('');
    const layout = { ...(await previewText(bytesSource('x', bytesOf(text)))), ...rate };
    let decoders = 0;
    class Counted extends TextDecoder {
      constructor(...given: ConstructorParameters<typeof TextDecoder>) {
        super(...given);
        decoders++;
      }
    }
    vi.stubGlobal('TextDecoder', Counted);
    const parser = new RowParser('x', layout);
    const rows = parser.parse(bytesOf(text), 0, text.length, false);
    vi.unstubAllGlobals();
    expect([...rows.values[0]!.subarray(0, rows.count)]).toEqual(values);
    expect(decoders).toBe(0);
  });

  test.each(['1e', '1e+', '1e5x', '1e400', '1.5e2.5'])('%s is no number', async cell => {
    await expect(readText(`ECG (mV)\n1\n2\n3\n4\n5\n${cell}\n`, rate)).rejects.toThrow(
      `line 7, column 1: "${cell}" is no number.`,
    );
  });

  test('decimal commas with exponents', async () => {
    const { mv } = await readText('A (mV);B (mV)\n1,5e1;0,25\n-2,5;3\n,5;-1,0\n', rate);
    expect(mv).toEqual([
      [15, -2.5, 0.5],
      [0.25, 3, -1],
    ]);
  });

  test('a comma that separates is no decimal mark, whatever was asked', async () => {
    const { mv } = await readText('A (mV),B (mV)\n3,2\n1,4\n5,6\n', { ...rate, decimalMark: ',' });
    expect(mv).toEqual([
      [3, 1, 5],
      [2, 4, 6],
    ]);
  });

  test('two columns whose second has now more and now fewer digits are no decimal commas', async () => {
    const { layout } = await readText('1,5\n1,12\n0,130\n2,7\n', rate);
    expect([layout.separator, layout.columns.length]).toEqual([',', 2]);
    const counted = await previewText(bytesSource('x', bytesOf('1,05\n2,12\n3,13\n4,07\n')));
    expect([counted.separator, counted.columns.length]).toEqual([',', 2]);
    const commas = await readText('1,05\n1,12\n0,13\n2,07\n', rate);
    expect([commas.layout.separator, commas.layout.decimalMark, commas.mv]).toEqual([
      ';',
      ',',
      [[1.05, 1.12, 0.13, 2.07]],
    ]);
  });

  test.each<[string, string]>([
    ['blank lines with tabs', 't_ms,A (mV)\n0,1\n \t \n4,2\n\t\n8,3\n'],
    ['comments after tabs and blanks', 't_ms,A (mV)\n0,1\n\t# note\n4,2\n  % note\n8,3\n'],
    ['slashes', 't_ms,A (mV)\n0,1\n// note\n4,2\n8,3\n'],
    ['semicolons', 't_ms,A (mV)\n0,1\n; note\n4,2\n8,3\n'],
    ['tabs between, comments too', 't_ms\tA (mV)\n0\t1\n# note\n4\t2\n; note\n8\t3\n'],
    ['a column of words at the end', 't_ms,A (mV),note\n0,1,ok\n4,2,"so, so"\n8,3,\n'],
    ['spaces and tabs mixed', 't_ms A(mV)\n0 \t 1\n 4\t2\t\n8  3 \n'],
  ])('%s are passed over', async (_name, text) => {
    const { mv, opened } = await readText(text);
    expect(mv).toEqual([[1, 2, 3]]);
    expect(opened.recording.samplingRateHz).toBe(250);
    expect(opened.recording.gaps).toEqual([]);
  });

  test('in a table separated by tabs an empty first cell is a cell', async () => {
    const { mv } = await readText('A (mV)\tB (mV)\n3\t2\n\t4\n1\t6\n', rate);
    expect(mv).toEqual([
      [3, 0, 1],
      [2, 4, 6],
    ]);
  });

  test('in a table separated by semicolons an empty first cell is a cell', async () => {
    const { mv } = await readText('A (mV);B (mV)\n3;2\n;4\n1;6\n', rate);
    expect(mv).toEqual([
      [3, 0, 1],
      [2, 4, 6],
    ]);
  });

  test.each([
    ['1.2.3', /line 4, column 1: "1.2.3" is no number/],
    ['0x10', /line 4, column 1: "0x10" is no number/],
    ['1e', /line 4, column 1: "1e" is no number/],
    ['1e999', /line 4, column 1: "1e999" is no number/],
    ['1 2', /line 4, column 1: "1 2" is no number/],
    ['/ 5', /line 4, column 1: "\/ 5" is no number/],
  ])('“%s” is refused with its place', async (cell, message) => {
    await expect(readText(`ECG (mV)\n1\n2\n${cell}\n3\n4\n5\n6\n`, rate)).rejects.toThrow(message);
  });

  test('a stamp that is none is refused with its place', async () => {
    await expect(readText('time,ECG (mV)\n08:30:00,1\n08:30:01,2\n08:77:02,3\n08:30:03,4\n')).rejects.toThrow(
      /line 4, column 1: "08:77:02" is no date or time/,
    );
  });
});

describe('what was settled about a signal is held to', () => {
  const source = bytesSource('x', bytesOf('t_ms,A (mV)\n0,1\n4,2\n8,3\n'));
  const read = async (change: Partial<TextLayout>) =>
    readTextSignal(source, { ...(await previewText(source)), ...change }, memorySink());

  test.each([0, -250, Number.NaN, 1e6 + 1, Number.POSITIVE_INFINITY, null])('a rate of %s is refused', async hz => {
    await expect(read({ samplingRateHz: hz })).rejects.toThrow(
      'layout: the sampling rate is not known. Give it in Hz.',
    );
  });

  test('a rate of a million is the highest', async () => {
    const { recording } = await read({ samplingRateHz: 1e6, timeFormat: 'sample' });
    expect(recording.samplingRateHz).toBe(1e6);
  });

  test('columns have one signal at least and one time at most, which has a unit', async () => {
    const { columns } = await previewText(source);
    const as = (...roles: TextLayout['columns'][number]['role'][]) =>
      columns.map((c, i) => ({ ...c, role: roles[i]! }));
    await expect(read({ columns: as('time', 'ignore') })).rejects.toThrow('no column is a signal. Choose the columns');
    await expect(read({ columns: as('time', 'value'), timeFormat: null })).rejects.toThrow('disagree');
    await expect(read({ columns: as('ignore', 'value') })).rejects.toThrow('disagree. Choose both or none');
    const three = [...as('time', 'time'), columns[1]!];
    await expect(read({ columns: three })).rejects.toThrow('2 columns are marked as time. Choose one.');
    await expect(read({ columns: as('ignore', 'value'), timeFormat: null })).resolves.toMatchObject({
      recording: { sampleCount: 3 },
    });
  });

  test('a file without a row below its header is refused', async () => {
    await expect(read({ firstDataLine: 9 })).rejects.toThrow('line 9: there are no rows.');
  });

  test('one step that is longer, and one that is shorter, than the usual one is reported with its size', async () => {
    const strip = (times: readonly number[]) => `time_ms,A (uV)\n${times.map((t, i) => `${t},${i}`).join('\n')}\n`;
    const even = Array.from({ length: 60 }, (_, i) => 4 * i);
    const later = await readText(strip(even.map(t => (t >= 120 ? t + 1.5 : t))), rate);
    expect(later.opened.timing.worstStepMs).toBeCloseTo(1.5, 6);
    const earlier = await readText(strip(even.map(t => (t >= 120 ? t - 1.25 : t))), rate);
    expect(earlier.opened.timing.worstStepMs).toBeCloseTo(1.25, 6);
    expect(earlier.opened.timing.meanRateHz).toBeCloseTo(59 / (59 * 0.004 - 0.00125), 6);
  });
});

describe('rows without values', () => {
  test('that follow each other are one gap, also from one block to the next', async () => {
    const rows = ['0,1', '4,', '8,', '12,', '16,5', '20,', '24,7', '28,8'];
    const { opened, sink } = await readText(`t_ms,A (mV)\n${rows.join('\n')}\n`);
    expect(opened.recording.gaps).toEqual([
      { start: 1, end: 4 },
      { start: 5, end: 6 },
    ]);
    expect([...sink.lead(0)]).toEqual([1, 0, 0, 0, 5, 0, 7, 8]);
  });

  test('after a gap of the stamps lie where they are, and end what the gap began', async () => {
    const rows = ['0,1', '4,2', '40,', '44,', '48,13', '52,'];
    const { opened } = await readText(`t_ms,A (mV)\n${rows.join('\n')}\n`, rate);
    expect(opened.recording.sampleCount).toBe(14);
    expect(opened.recording.gaps).toEqual([
      { start: 2, end: 12 },
      { start: 13, end: 14 },
    ]);
  });
});

// Comments of 100 kB make blocks end between the lines of a short signal.
test.each([
  ['LF', '\n'],
  ['CR', '\r'],
  ['CR LF', '\r\n'],
])('blocks join without a seam where lines end in %s', async (_name, end) => {
  const note = `# ${'x'.repeat(99_990)}`;
  const lines = Array.from({ length: 90 }, (_, i) => `${(i * 7) % 19},${-i}${end}${note}`);
  const { mv } = await readText(`A (mV),B (mV)${end}1,2${end}2,1${end}0,3${end}${lines.join(end)}${end}`, rate);
  expect(mv[0]!.slice(3)).toEqual(lines.map((_, i) => (i * 7) % 19));
  expect(mv[1]!.slice(3).map(v => v + 0)).toEqual(lines.map((_, i) => 0 - i));
});

describe('the time line of a file', () => {
  // source: sample numbers of marks have 32 bits (src/core/marks/markset.ts); a year is a convention of this project
  test('may be a year long, or as long as 32 bits count its samples', () => {
    const check = (seconds: number, hz: number) => checkTimeline('x', 'text', 'line 7', seconds, hz);
    check(366 * 86_400, 50);
    check((2 ** 31 - 1) / 250, 250);
    expect(() => check(367 * 86_400, 50)).toThrow(
      'x (text), line 7: the time line would be 367.0 days long. At most 366.0 days are read: correct the time stamps or split the file.',
    );
    expect(() => check(2 ** 31 / 250, 250)).toThrow('At most 99.4 days are read at 250 Hz');
    expect(() => check(Number.NaN, 250)).toThrow(FormatError);
  });

  test('has the word nearest to 0 mV where words are needed for what was not recorded', () => {
    const int16 = [12.4, -12.6, 40_000, -40_000, -0.2].map(offset => zeroWord({ format: 'int16', offset }));
    expect(int16).toEqual([12, -13, 32_767, -32_768, 0]);
    expect(zeroWord({ format: 'int32', offset: -40_000.4 })).toBe(-40_000);
    expect(zeroWord({ format: 'float32', offset: 0.25 })).toBe(0.25);
  });
});
