import type { ListDialect } from './dialect';
import { clock } from './dialect';

const beats = Array.from({ length: 60 }, (_, i) => 103 + 211 * i + (i % 7));
const start = Date.UTC(2026, 2, 14, 8, 30);
const list = (header: string, cell: (sample: number) => string) => `${header}\n${beats.map(cell).join('\n')}\n`;
const wall = (sample: number, hours = 0) => new Date(start + sample * 4 + hours * 3_600_000).toISOString();
const plain = { samples: beats, asked: [] } as const;
/** As of a stopwatch, minutes and seconds alone. */
const watch = (sample: number) =>
  `${Math.floor(sample / 15_000)}:${((sample % 15_000) / 250).toFixed(3).padStart(6, '0')}`;
const guessed = /No header names the column's unit/;
const zoned = { ...clock, utcOffsetMinutes: 120 };
const late = { ...clock, startedAt: '2026-03-14T23:59:30' };
const lateWall = (sample: number) => new Date(Date.UTC(2026, 2, 14, 23, 59, 30) + sample * 4).toISOString();

export const markDialects: readonly ListDialect[] = [
  { ...plain, name: 'sample indices', file: list('sample', String) },
  { ...plain, name: 'sample indices written as 103.0', file: list('sample', b => `${b}.0`) },
  {
    ...plain,
    name: 'sample indices with decimals',
    file: list('sample', b => `${b}.25`),
    asked: [/60 of 60 sample indices have decimals/],
  },
  {
    ...plain,
    name: 'sample indices with a comma between groups',
    file: list('sample', b => `"${b.toLocaleString('en-US')}"`),
    asked: [/Only numbers from 1000 on have a comma/],
  },
  { ...plain, name: 'a column of whole numbers', file: list('', String).trimStart(), asked: [guessed] },
  { ...plain, name: 'seconds', file: list('time_s', b => (b / 250).toFixed(3)) },
  {
    ...plain,
    name: 'seconds with decimal commas',
    file: list('peak (s)', b => (b / 250).toFixed(3).replace('.', ',')),
  },
  {
    ...plain,
    name: 'seconds with decimal commas, a semicolon and a label',
    file: beats.map((b, i) => `${(b / 250).toFixed(3).replace('.', ',')};${i % 9 === 4 ? 'V' : 'N'}\n`).join(''),
    asked: [guessed],
  },
  {
    ...plain,
    name: 'few seconds with decimal commas and a label, of which only a whole one has no comma',
    file: '2,648;N\n3,400;N\n7;V\n',
    samples: [662, 850, 1750],
    asked: [guessed, /"2,648" is read as 2\.648; if the comma stands between groups of three digits, it is 2648/],
  },
  {
    ...plain,
    name: 'few sample indices with a comma between groups and a label',
    file: 'sample;label\n649;N\n1,200;N\n2,000;N\n',
    samples: [649, 1200, 2000],
    asked: [/Only numbers from 1000 on have a comma/],
  },
  { ...plain, name: 'milliseconds', file: list('time_ms', b => String(4 * b)) },
  { ...plain, name: 'microseconds', file: list('peak_us', b => String(4000 * b)) },
  { ...plain, name: 'hours', file: list('peak (h)', b => (b / 900_000).toFixed(9)) },
  { ...plain, name: 'minutes', file: list('time (min)', b => (b / 15_000).toFixed(7)) },
  {
    ...plain,
    name: 'rounded to 10 ms',
    file: list('time_s', b => (b / 250).toFixed(2)),
    samples: beats.map(b => Math.round(Number((b / 250).toFixed(2)) * 250)),
    asked: [/rounded to 10 ms: each may lie up to 5 ms/],
  },
  {
    ...plain,
    name: 'rounded to whole seconds',
    file: list('time_s', b => String(Math.round(b / 250))),
    samples: beats.map(b => Math.round(b / 250) * 250).filter((b, i, all) => b !== all[i - 1]),
    asked: [/rounded to 1 s: .* cannot be judged/, /9 marks repeat another/],
  },
  {
    ...plain,
    name: 'few RR intervals in seconds with decimal commas, one of them whole',
    file: '# first beat at 0.412 s\nrr_s\n1,001\n1\n1,012\n',
    samples: [103, 353, 603, 856],
    asked: [
      /"1,001" is read as 1\.001 s: read otherwise, not every number would be a plausible RR interval/,
      /RR intervals end shorter/,
    ],
  },
  {
    ...plain,
    name: 'few RR intervals with decimal commas and no header, one of them whole',
    file: '1,001\n1\n1,012\n',
    samples: [0, 250, 500, 753],
    asked: [/Nothing says where the first beat is/, guessed, /"1,001" is read as 1\.001 s/, /RR intervals end shorter/],
  },
  {
    ...plain,
    name: 'few RR intervals in milliseconds, all with a dot between groups',
    file: '# first beat at 0.412 s\nrr_ms\n1.000\n1.012\n1.004\n',
    samples: [103, 353, 606, 857],
    asked: [/"1.000" is read as 1000 ms/, /RR intervals end shorter/],
  },
  {
    ...plain,
    name: 'few RR intervals in milliseconds with a comma between groups, one of them a pause',
    file: '# first beat at 0.412 s\nrr_ms\n1,000\n812\n3,412\n',
    samples: [103, 353, 556, 1409],
    asked: [/Only numbers from 1000 on have a comma/, /RR intervals end shorter/],
  },
  {
    ...plain,
    name: 'few RR intervals in milliseconds, all with a comma between groups',
    file: '# first beat at 0.412 s\nrr_ms\n1,000\n1,012\n1,004\n',
    samples: [103, 353, 606, 857],
    asked: [/The header names one column/, /"1,000" is read as 1000 ms/, /RR intervals end shorter/],
  },
  {
    ...plain,
    name: 'few RR intervals in seconds, all with a decimal comma',
    file: '# first beat at 0.412 s\nrr_s\n1,000\n1,012\n1,004\n',
    samples: [103, 353, 606, 857],
    asked: [/The header names one column/, /"1,000" is read as 1/, /RR intervals end shorter/],
  },
  {
    ...plain,
    name: 'RR intervals in milliseconds with one decimal behind a comma',
    file: `# first beat at 0.412 s\nrr_ms\n${'1002,4\n997,6\n'.repeat(28)}`,
    samples: Array.from({ length: 57 }, (_, i) => 103 + 250 * i + (i % 2)),
    asked: [/The header names one column/, /RR intervals end shorter/],
  },
  {
    ...plain,
    name: 'few times with a decimal comma',
    file: 'time_s\n1,5\n2,5\n4,5\n',
    samples: [375, 625, 1125],
    asked: [/The header names one column/],
  },
  {
    ...plain,
    name: 'RR intervals',
    file: `# first beat at 0.412 s\nrr_ms\n${beats
      .slice(1)
      .map((b, i) => 4 * (b - beats[i]!))
      .join('\n')}\n`,
    asked: [/RR intervals end shorter/],
  },
  { ...plain, name: 'date and time', file: list('time', b => wall(b).slice(0, 23)), asked: [guessed] },
  {
    ...plain,
    name: 'date and time in UTC, recording in UTC+2',
    file: list('time', b => wall(b, -2)),
    clock: zoned,
    asked: [guessed],
  },
  {
    ...plain,
    name: 'date and time in UTC, zone of the recording unknown',
    file: list('time', b => wall(b, -2)),
    asked: [guessed, /taken as UTC\+02:00, which puts 60 of 60 marks inside/],
  },
  {
    ...plain,
    name: 'date and time an hour off, no zone',
    file: list('time', b => wall(b, 1).slice(0, 23)),
    samples: [],
    asked: [guessed, /with their clock moved by -1 h, 60 would/, /60 marks outside/],
  },
  {
    ...plain,
    name: 'time of day, 12 hours',
    file: list('time', b => `${wall(b).slice(11, 23).replace(/^0/, '')} AM`),
    asked: [guessed],
  },
  {
    ...plain,
    name: 'time of day over midnight',
    file: list('time', b => lateWall(b).slice(11, 23)),
    clock: late,
    asked: [guessed],
  },
  { ...plain, name: 'as of a stopwatch, m:ss.fff', file: list('time', watch), asked: [guessed] },
  {
    ...plain,
    name: 'as of a stopwatch below a name that says so',
    file: list('R peak (mm:ss.ms)', b => watch(b).padStart(9, '0')),
  },
  {
    ...plain,
    name: 'as of a stopwatch with commas, between a row number and a label',
    file: `no;time (mm:ss,fff);beat\n${beats.map((b, i) => `${i + 1};${watch(b).replace('.', ',')};N\n`).join('')}`,
  },
  {
    ...plain,
    name: 'as of a stopwatch with commas and nothing else',
    file: beats.map(b => `${watch(b).replace('.', ',')}\n`).join(''),
    asked: [guessed, /The comma in each line is read as that of a fraction/],
  },
  {
    ...plain,
    name: 'as of a stopwatch, m:ss:fff',
    file: list('elapsed', b => watch(b).replace('.', ':')),
  },
  {
    ...plain,
    name: 'as of a stopwatch that reaches the hours',
    file: 'elapsed\n59:59.600\n1:00:00.400\n1:00:01.200\n',
    clock: { ...clock, sampleCount: 1_800_000 },
    samples: [899_900, 900_100, 900_300],
  },
  {
    ...plain,
    name: 'times of day of which a spreadsheet shows minutes and seconds',
    file: list('time', b => wall(b).slice(14, 23)),
    asked: [guessed, /read as minutes and seconds of the time of day, without its hour/],
  },
];

const two = [2500, 5000, 5000, 10_000];
const night = { samplingRateHz: 1, sampleCount: 40 * 3600, startedAt: '2026-03-14T20:00:00' };
const segments = { samples: two, asked: [] } as const;

export const segmentDialects: readonly ListDialect[] = [
  { ...segments, name: 'name, start and end in s', file: 'name,start_s,end_s\nrest,10,20\nwalk,20,40\n' },
  {
    ...segments,
    name: 'start and end in samples',
    file: 'name,start_sample,end_sample\nrest,2500,5000\nwalk,5000,10000\n',
  },
  {
    ...segments,
    name: 'samples written as 2500.0',
    file: 'name,start_sample,end_sample\nrest,2500.0,5000.0\nwalk,5000.0,10000.0\n',
  },
  { ...segments, name: 'start and end in ms', file: 'name,start_ms,end_ms\nrest,10000,20000\nwalk,20000,40000\n' },
  {
    ...segments,
    name: 'start and end in minutes',
    file: 'name;start_min;end_min\nrest;0,1666667;0,3333333\nwalk;0,3333333;0,6666667\n',
  },
  {
    ...segments,
    name: 'start and end in hours',
    file: 'name,start_h,end_h\nrest,0.00277778,0.00555556\nwalk,0.00555556,0.01111111\n',
  },
  {
    ...segments,
    name: 'onset, duration, label',
    file: 'onset,duration,label\n10,10,rest\n20,20,walk\n',
    asked: [/read as seconds because/],
  },
  {
    ...segments,
    name: 'onset_ms, duration_ms, label',
    file: 'onset_ms,duration_ms,label\n10000,10000,rest\n20000,20000,walk\n',
  },
  {
    ...segments,
    name: 'time of day and duration',
    file: 'start,duration_min,activity\n08:30:10,0.1666667,rest\n08:30:20,0.3333333,walk\n',
  },
  {
    ...segments,
    name: 'minutes and seconds from the start, m:ss',
    file: 'name,start,end\nrest,0:10,0:20\nwalk,0:20,0:40\n',
    asked: [/As times of day the segments lie outside/],
  },
  { ...segments, name: 'times of day', file: 'name;start;end\nrest;08:30:10;08:30:20\nwalk;08:30:20;08:30:40\n' },
  {
    ...segments,
    name: 'times of day, 12 hours',
    file: 'name,start,end\nrest,8:30:10 AM,8:30:20 AM\nwalk,8:30:20 AM,8:30:40 AM\n',
  },
  {
    ...segments,
    name: 'dates and times in UTC, recording in UTC+2',
    file: 'name,start,end\nrest,2026-03-14T06:30:10Z,2026-03-14T06:30:20Z\nwalk,2026-03-14T06:30:20Z,2026-03-14T06:30:40Z\n',
    clock: zoned,
  },
  {
    ...segments,
    name: 'dates and times in UTC, zone of the recording unknown',
    file: 'name,start,end\nrest,2026-03-14T08:30:10Z,2026-03-14T08:30:20Z\nwalk,2026-03-14T08:30:20Z,2026-03-14T08:30:40Z\n',
    asked: [/segments name a time zone, the recording none/],
  },
  {
    name: 'a night across midnight',
    file: 'name,start,end\nwatch,21:00:00,23:30:00\nsleep,23:30:00,07:15:00\nbreakfast,07:30:00,08:00:00\n',
    samples: [3600, 12_600, 12_600, 40_500, 41_400, 43_200],
    clock: night,
    asked: [],
  },
  {
    name: 'a second evening',
    file: 'name,start,end\nevening,20:30:00,21:00:00\nmorning,08:00:00,09:00:00\nsecond evening,20:30:00,21:00:00\n',
    samples: [1800, 3600, 43_200, 46_800, 88_200, 90_000],
    clock: night,
    asked: [/days follow the order of the rows/],
  },
];
