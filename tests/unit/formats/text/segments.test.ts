import fc from 'fast-check';
import { expect, test } from 'vitest';
import type { Segment } from '../../../../src/core/recording/recording';
import { span } from '../../../../src/core/units';
import { bytesSource } from '../../../../src/formats/bytes/source';
import type { MarksClock } from '../../../../src/formats/text/marks';
import { asPersonSays, previewSegments, readSegments, segmentsText } from '../../../../src/formats/text/segments';
import { amount } from '../../amount';

const clock: MarksClock = { samplingRateHz: 250, sampleCount: 250 * 600, startedAt: '2026-03-14T08:30:00' };
const day: Segment[] = [
  { name: 'seated radio watch', ...span(0, 75_000) },
  { name: 'uphill run, steep', ...span(75_000, 150_000) },
];

async function read(text: string | Uint8Array, on = clock) {
  const source = bytesSource('plan', typeof text === 'string' ? new TextEncoder().encode(text) : text);
  const layout = await previewSegments(source);
  return { layout, ...(await readSegments(source, layout, on)) };
}

test.each([
  ['seconds', 'name,start_s,end_s\nseated radio watch,0,300\n"uphill run, steep",300,600\n', 's'],
  ['samples', 'name,start_sample,end_sample\nseated radio watch,0,75000\n"uphill run, steep",75000,150000\n', 'sample'],
  ['samples by their size', 'name,start,end\nseated radio watch,0,75000\n"uphill run, steep",75000,150000\n', 'sample'],
  [
    'time of day',
    'name;start;end\nseated radio watch;08:30:00;08:35:00\nuphill run, steep;08:35:00;08:40:00\n',
    'clock',
  ],
  [
    'date and time',
    'name\tstart\tend\nseated radio watch\t2026-03-14T08:30:00\t2026-03-14 08:35:00\nuphill run, steep\t2026-03-14T08:35\t2026-03-14T08:40\n',
    'iso',
  ],
  ['no header', 'seated radio watch;0,0;300,0\nuphill run, steep;300,0;600,0\n', 's'],
  ['other order', 'end (s),start (s),activity\n300,0,seated radio watch\n600,300,"uphill run, steep"\n', 's'],
])('segments in %s', async (_name, text, unit) => {
  const { layout, segments, warnings, dropped } = await read(text);
  expect(layout.unit).toBe(unit);
  expect(segments).toEqual(day);
  expect([...warnings, ...dropped]).toEqual([]);
});

test('overlap, backwards, outside and past the end are reported', async () => {
  const text = 'name,start_s,end_s\na,0,100\nb,90,200\nc,300,250\nd,580,700\ne,900,990\n';
  const { segments, warnings, dropped } = await read(text);
  expect(segments.map(s => [s.name, s.start, s.end])).toEqual([
    ['a', 0, 25_000],
    ['b', 22_500, 50_000],
    ['d', 145_000, 150_000],
  ]);
  expect(warnings).toEqual([
    'd (line 5) reaches 100.000 s outside the recording and is cut.',
    'b begins before a ends.',
  ]);
  expect(dropped).toEqual([
    'c (line 4): it ends before it starts, or is empty',
    'e (line 6): it lies outside the recording',
  ]);
});

const plan = (rows: string) => `name,start,end\n${rows}`;

test.each([
  ['that lie outside as times of day', plan('rest,0:00,5:00\nwalk,5:00,9:30\n'), 'clock', [0, 300, 570]],
  ['with hours', plan('rest,0:00:00,0:05:00\nwalk,0:05:00,0:09:30\n'), 'clock', [0, 300, 570]],
  [
    'under a header that says so',
    'name,start (m:ss),end (m:ss)\nrest,0:01,0:05\nwalk,0:05,0:09\n',
    'elapsed',
    [1, 5, 9],
  ],
  ['and durations', 'name;start;duration\nrest;0:00;5:00\nwalk;5:00;4:30\n', 'clock', [0, 300, 570]],
  ['without a header', 'rest 0:00 5:00\nwalk 5:00 9:30\n', 'clock', [0, 300, 570]],
])('minutes and seconds from the start %s', async (_what, text, unit, [from, between, to]) => {
  const { layout, segments, warnings, dropped } = await read(text);
  expect(layout.unit).toBe(unit);
  expect(segments).toEqual([
    { name: 'rest', ...span(from! * 250, between! * 250) },
    { name: 'walk', ...span(between! * 250, to! * 250) },
  ]);
  expect(dropped).toEqual([]);
  const told = /^As times of day the segments lie outside the recording: ".*" is read as minutes and seconds/;
  expect(warnings).toEqual(unit === 'clock' ? [expect.stringMatching(told)] : []);
});

test('a plan in minutes from the start may reach beyond the end of a recording that stopped early', async () => {
  const { segments, warnings, dropped } = await read(plan('rest,0:00,4:00\nwalk,4:00,8:00\nrun,8:00,12:00\n'));
  expect(segments.map(s => [s.name, s.start / 250, s.end / 250])).toEqual([
    ['rest', 0, 240],
    ['walk', 240, 480],
    ['run', 480, 600],
  ]);
  expect(dropped).toEqual([]);
  expect(warnings).toEqual([
    'As times of day the segments lie outside the recording: "0:00" is read as minutes and seconds from its start.',
    'run (line 4) reaches 120.000 s outside the recording and is cut.',
  ]);
});

test('minutes may be more than an hour has', async () => {
  const { layout, segments } = await read(plan('walk,0:30,62:30\nrest,62:30,75:00\n'), {
    ...clock,
    sampleCount: 250 * 4500,
  });
  expect(layout).toMatchObject({ unit: 'elapsed', why: '"62:30" is no time of day' });
  expect(segments[1]).toEqual({ name: 'rest', ...span(250 * 3750, 250 * 4500) });
});

test('times of day stay times of day where they lie inside, and where a person says so', async () => {
  const { segments } = await read(plan('rest,8:30,8:35\nwalk,8:35,8:40\n'));
  expect(segments.map(s => s.start)).toEqual([0, 75_000]);
  const source = bytesSource('plan', new TextEncoder().encode(plan('rest,0:00,5:00\n')));
  const layout = { ...(await previewSegments(source)), why: asPersonSays };
  const asked = await readSegments(source, layout, clock);
  expect(asked.dropped).toEqual(['rest (line 2): it lies outside the recording']);
});

test('seconds of a minute are less than 60', async () => {
  await expect(read(plan('rest,0:00,5:00\nwalk,5:00,62:75\n'))).rejects.toThrow(/line 3, column 3: "62:75"/);
});

test('a time of day past midnight belongs to the next day', async () => {
  const late = { samplingRateHz: 1, sampleCount: 7200, startedAt: '2026-03-14T23:30:00' };
  const { segments } = await read('name,start,end\nwatch,23:45:00,00:15:00\n', late);
  expect(segments).toEqual([{ name: 'watch', start: 900, end: 2700 }]);
});

test.each([
  ['whole numbers up to 20 000 are seconds', 'name,from,to\na,0,300\nb,300,600\n', 's', [0, 75_000]],
  ['larger ones are samples', 'name,from,to\na,0,300\nb,300,20001\n', 'sample', [0, 300]],
  ['large ones with decimals are seconds', 'name,from,to\na,0,300.5\nb,300.5,20001\n', 's', [0, 75_125]],
])('%s', async (_what, text, unit, first) => {
  const { layout, segments } = await read(text);
  expect(layout.unit).toBe(unit);
  expect([segments[0]!.start, segments[0]!.end]).toEqual(first);
});

test('names stand where neither start nor end does', async () => {
  const { segments } = await read('0;300;seated radio watch\n300;600;uphill run, steep\n');
  expect(segments).toEqual(day);
  const between = await read('from,activity,to\n0,seated radio watch,300\n300,"uphill run, steep",600\n');
  expect(between.segments).toEqual(day);
});

// source: Windows-1252: 0x80 is €, 0x92 ’, 0x96 a dash, 0xdc Ü; 0x81 is none
test('names in Windows-1252 are the same in Node as in browsers', async () => {
  const bytes = Uint8Array.from('name,start_s,end_s\n\xdcbung \x96 Anna\x92s 5 \x80\x81,0,60\n', c => c.charCodeAt(0));
  expect((await read(bytes)).segments.map(s => s.name)).toEqual(['Übung – Anna’s 5 €\u0081']);
});

test('an overlap is reported for the segment that reaches furthest', async () => {
  const { warnings } = await read('name,start_s,end_s\na,0,300\nb,50,100\nc,200,250\nd,300,310\n');
  expect(warnings).toEqual(['b begins before a ends.', 'c begins before a ends.']);
});

test('without a start time of the recording, times of day count from its first sample', async () => {
  const { segments, warnings } = await read('name,start,end\nwatch,00:01:00,00:02:30\n', { ...clock, startedAt: null });
  expect(segments).toEqual([{ name: 'watch', start: 15_000, end: 37_500 }]);
  expect(warnings).toEqual(['The recording has no start time; times are taken to count from its first sample.']);
  expect((await read('name,start,end\nwatch,08:31:00,08:32:30\n')).segments).toEqual(segments);
});

test('a word for a time names the line', async () => {
  await expect(read('name,start_s,end_s\na,0,100\nb,100,200\nc,200,late\n')).rejects.toThrow(
    /plan \(segments\), line 4, column 3: "late" is none of seconds/,
  );
});

test('any name without line ends comes back exactly, also one that looks like a formula, a comment or a guarded text', async () => {
  const odd = [
    '=1+1',
    "'=1+1",
    "''@x",
    '-run',
    "'",
    '# rest',
    '// rest',
    '; rest',
    ' rest ',
    '\trun',
    '"',
    'a;b',
    '12',
    'n/a',
  ];
  const name = fc
    .oneof(fc.constantFrom(...odd), fc.string({ unit: 'grapheme', minLength: 1, maxLength: 20 }))
    .filter(n => n !== '' && !/[\r\n\0]/.test(n));
  await fc.assert(
    fc.asyncProperty(fc.array(name, { minLength: 1, maxLength: 6 }), async names => {
      const segments = names.map((n, i) => ({ name: n, ...span(1000 * i, 1000 * i + 900) }));
      const source = bytesSource('plan', new TextEncoder().encode(segmentsText(segments, 250, 'sample')));
      const layout = await previewSegments(source, { separator: ',' });
      expect((await readSegments(source, layout, clock)).segments).toEqual(segments);
    }),
    { numRuns: amount(300, 20), seed: 8 },
  );
});

test('a name longer than a session keeps is refused with its line', async () => {
  const text = `name,start_s,end_s\na,0,100\n${'b'.repeat(201)},100,200\n`;
  await expect(read(text)).rejects.toThrow(/plan \(segments\), line 3: the name has 201 characters.*Shorten it/);
});

test('write, read, write gives the same bytes', async () => {
  const name = fc.stringMatching(/^[A-Za-z][A-Za-z0-9 ,"'äöü-]{0,20}[a-z]$/);
  const piece = fc.record({ name, length: fc.integer({ min: 1, max: 40_000 }), gap: fc.integer({ min: 0, max: 500 }) });
  const arbitrary = fc.tuple(
    fc.array(piece, { minLength: 1, maxLength: 5 }),
    fc.constantFrom(130, 250, 360),
    fc.constantFrom('s', 'sample'),
  );
  await fc.assert(
    fc.asyncProperty(arbitrary, async ([pieces, samplingRateHz, unit]) => {
      let at = 0;
      const segments = pieces.map(p => {
        const start = at + p.gap;
        at = start + p.length;
        return { name: p.name, ...span(start, at) };
      });
      const text = segmentsText(segments, samplingRateHz, unit as 's' | 'sample');
      const back = await read(text, { samplingRateHz, sampleCount: 1_000_000, startedAt: null });
      expect(back.segments).toEqual(segments);
      expect(segmentsText(back.segments, samplingRateHz, unit as 's' | 'sample')).toBe(text);
    }),
    { numRuns: amount(200, 20), seed: 5 },
  );
});
