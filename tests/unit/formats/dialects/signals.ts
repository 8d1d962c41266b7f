import type { SignalDialect } from './dialect';

/** An invented pulse in uV at 250 Hz: a spike every 200 samples on a slow wave. */
const count = 2500;
const uv = (i: number) => Math.round(80 * Math.sin(i / 40)) + (i % 200 < 5 ? 1500 - 300 * Math.abs((i % 200) - 2) : 0);
const first = [0, 1, 2, 3, 4];
const mv = [first.map(i => uv(i) / 1000)];
const twice = [mv[0]!, first.map(i => (uv(i) - 700) / 1000)];

const rows = (row: (i: number) => string, end = '\n', rowCount = count) =>
  Array.from({ length: rowCount }, (_, i) => row(i) + end).join('');
const wall = (ms: number) => new Date(Date.UTC(2026, 2, 14, 8, 30) + ms).toISOString();
const s = (i: number) => (i * 0.004).toFixed(3);
const inMv = (i: number) => (uv(i) / 1000).toFixed(3);
/** Days since 1899-12-30, from 10:30:01 on. */
const serial = (i: number, decimals: number) => (45_123.4375 + (1 + i / 250) / 86_400).toFixed(decimals);
const comma = (text: string) => text.replace('.', ',');
const us = (v: number) => v.toLocaleString('en-US');
const german = (v: number) => v.toLocaleString('de-DE');
const utf16 = (text: string, littleEndian: boolean) => {
  const bytes = new Uint8Array(2 + 2 * text.length);
  const view = new DataView(bytes.buffer);
  view.setUint16(0, 0xfeff, littleEndian);
  for (let i = 0; i < text.length; i++) view.setUint16(2 + 2 * i, text.charCodeAt(i), littleEndian);
  return bytes;
};
const twelve = (ms: number) => {
  const iso = wall(ms);
  const hour = Number(iso.slice(11, 13));
  return `${hour % 12 || 12}${iso.slice(13, 23)} ${hour < 12 ? 'AM' : 'PM'}`;
};
/** Evenly distributed in [-1, 1], the same each time. */
const shaken = (i: number) => {
  const x = Math.sin((i + 1) * 12.9898) * 43_758.5453;
  return 2 * (x - Math.floor(x)) - 1;
};

const plain = { rateHz: 250, mv, samples: count, asked: [] } as const;
const header = 'time_s,ECG (uV)\n';
const body = rows(i => `${s(i)},${uv(i)}`);
const noRate = /sampling rate: it must be given/;
const noUnit = /does not say its unit/;
const wallStart = '2026-03-14T08:30:00';

export const signalDialects: readonly SignalDialect[] = [
  { ...plain, name: 'comma, header with units', file: header + body },
  {
    ...plain,
    name: 'semicolon and decimal comma',
    file: `Zeit (s);EKG (mV)\n${rows(i => `${comma(s(i))};${comma(inMv(i))}`)}`,
  },
  { ...plain, name: 'tab', file: `time_s\tECG (uV)\n${rows(i => `${s(i)}\t${uv(i)}`)}` },
  { ...plain, name: 'runs of blanks', file: `t_s  ECG_uV\n${rows(i => `  ${s(i)}    ${uv(i)} `)}` },
  { ...plain, name: 'line ends CR LF', file: `time_s,ECG (uV)\r\n${rows(i => `${s(i)},${uv(i)}`, '\r\n')}` },
  { ...plain, name: 'line ends CR', file: `time_s,ECG (uV)\r${rows(i => `${s(i)},${uv(i)}`, '\r')}` },
  { ...plain, name: 'byte order mark', file: `\ufeff${header}${body}` },
  { ...plain, name: 'UTF-16, little-endian', file: utf16(header + body, true) },
  { ...plain, name: 'UTF-16, big-endian', file: utf16(header + body, false) },
  { ...plain, name: 'quotes round every cell', file: `"time_s","ECG (uV)"\n${rows(i => `"${s(i)}","${uv(i)}"`)}` },
  {
    ...plain,
    name: 'quoted cells that hold the separator as decimal comma',
    file: `"time_s","ECG (mV)"\n${rows(i => `"${comma(s(i))}","${comma(inMv(i))}"`)}`,
  },
  {
    ...plain,
    name: 'quoted cells with a comma between groups of digits',
    file: `I (uV),II (uV)\n${rows(i => `"${us(uv(i))}","${us(uv(i) - 700)}"`)}`,
    mv: twice,
    rate: 250,
    asked: [/Only numbers from 1000 on have a comma/, noRate],
  },
  {
    ...plain,
    name: 'twice the same pair of quoted cells',
    file: `I (uV),II (uV)\n${'"1,500","-700"\n'.repeat(20)}`,
    mv: [[1.5], [-0.7]],
    samples: 20,
    rate: 250,
    asked: [/"1,500" is read as 1500/, noRate],
  },
  {
    ...plain,
    name: 'semicolon, a dot between groups of digits',
    file: `I (uV);II (uV)\n${rows(i => `${german(uv(i))};${german(uv(i) - 700)}`)}`,
    mv: twice,
    rate: 250,
    asked: [/Only numbers from 1000 on have a dot/, noRate],
  },
  {
    ...plain,
    name: 'semicolon, a dot between groups and a decimal comma',
    file: `t (ms);ECG (uV)\n${rows(i => `${german(i * 4)},0;${german(uv(i))},0`)}`,
  },
  {
    ...plain,
    name: 'apostrophe between groups of digits',
    file: `t (ms);ECG (uV)\n${rows(i => `${us(i * 4).replaceAll(',', "'")};${us(uv(i)).replaceAll(',', "'")}`)}`,
  },
  {
    ...plain,
    name: 'thin blank between groups of digits',
    file: `t (ms);ECG (uV)\n${rows(i => `${us(i * 4).replaceAll(',', '\u202f')};${us(uv(i)).replaceAll(',', '\u202f')}`)}`,
  },
  {
    ...plain,
    name: 'three decimals and nothing below 1',
    file: `ECG (mV)\n${rows(i => (2.048 + uv(i) / 1e6).toFixed(3))}`,
    mv: [first.map(i => Math.round(2048 + uv(i) / 1000) / 1000)],
    rate: 250,
    asked: [/if the dot stands between groups of three digits/, noRate],
  },
  { ...plain, name: 'exponents', file: `time_s,ECG (mV)\n${rows(i => `${s(i)},${(uv(i) / 1000).toExponential()}`)}` },
  { ...plain, name: 'plus signs', file: header + rows(i => `${s(i)},${uv(i) < 0 ? '' : '+'}${uv(i)}`) },
  {
    ...plain,
    name: 'a value beyond float32',
    file: `time_s,ECG (mV)\n${rows(i => `${s(i)},${i === 900 ? '1e39' : inMv(i)}`)}`,
    gaps: [[900, 901]],
    asked: [/1 value beyond ±3.4e38 is read as nothing/],
  },
  {
    ...plain,
    name: 'comments and blank lines between',
    file: `# day 1\n${header}${rows(i => `${s(i)},${uv(i)}\n${i % 500 === 0 ? '# note\n' : ''}`)}`,
  },
  { ...plain, name: 'preamble', file: `Recorder: adhesive logger\nPlace: hut\n\n${header}${body}` },
  { ...plain, name: 'units in a row below the names', file: `time,ECG\ns,uV\n${body}` },
  {
    ...plain,
    name: 'units in brackets in a row below the names',
    file: `time;ECG\n[s];[mV]\n${rows(i => `${s(i)};${inMv(i)}`)}`,
  },
  { ...plain, name: 'time in ms', file: `time_ms,ECG (uV)\n${rows(i => `${4 * i},${uv(i)}`)}` },
  { ...plain, name: 'time in µs', file: `t_us,ECG (uV)\n${rows(i => `${4000 * i},${uv(i)}`)}` },
  { ...plain, name: 'time in ns', file: `t (ns),ECG (uV)\n${rows(i => `${4_000_000 * i},${uv(i)}`)}` },
  {
    ...plain,
    name: 'times in s under a name that says minutes',
    file: `time_min;ECG (uV)\n${rows(i => `${comma(s(i))};${uv(i)}`)}`,
    asked: [
      /^"time_min" is read in seconds, which makes 250 Hz; in minutes, as its name says, it would be 4\.167 Hz\.$/,
    ],
  },
  {
    ...plain,
    name: 'times in ms under a name that says s',
    file: `time_s,ECG (uV)\n${rows(i => `${4 * i},${uv(i)}`)}`,
    asked: [
      /^"time_s" is read in milliseconds, which makes 250 Hz; in seconds, as its name says, it would be 0\.25 Hz\.$/,
    ],
  },
  {
    ...plain,
    name: 'times in s under a name that says samples',
    file: `sample,ECG (uV)\n${rows(i => `${s(i)},${uv(i)}`)}`,
    asked: [
      /^"sample" is read in seconds, which makes 250 Hz; as sample numbers, as its name says, there would be gaps/,
    ],
  },
  {
    ...plain,
    name: 'a name that says s above numbers that count up by 1',
    file: `time_s,ECG (uV)\n${rows(i => `${i},${uv(i)}`)}`,
    rate: 250,
    asked: [
      /read as sample numbers.*in seconds, as its name says, it would be 1 Hz, in milliseconds.* 1000 Hz/,
      noRate,
    ],
  },
  {
    ...plain,
    name: 'µs since the recorder was switched on, as many as seconds since 1970',
    file: `timestamp_us,ECG (uV)\n${rows(i => `${1_500_000_000 + 4000 * i},${uv(i)}`)}`,
    startedAt: null,
  },
  {
    ...plain,
    name: 'serial dates of a spreadsheet',
    file: `Date;ECG (uV)\n${rows(i => `${comma(serial(i, 10))};${uv(i)}`)}`,
    startedAt: '2023-07-16T10:30:01',
  },
  {
    ...plain,
    name: 'serial dates of the 1904 date system',
    file: `date (1904);ECG (uV)\n${rows(i => `${(Number(serial(i, 9)) - 1462).toFixed(9)};${uv(i)}`)}`,
    startedAt: '2023-07-16T10:30:01',
  },
  {
    ...plain,
    name: 'hours',
    file: `time (h);ECG (uV)\n${rows(i => `${(i / 900_000).toFixed(9)};${uv(i)}`)}`,
    startedAt: null,
  },
  {
    ...plain,
    name: 'fractions of a day without a date',
    file: `time_days;ECG (uV)\n${rows(i => `${(0.4375 + i / 21_600_000).toFixed(10)};${uv(i)}`)}`,
    startedAt: null,
  },
  {
    ...plain,
    name: 'serial dates in steps of 0.86 s',
    file: `ECG (uV)\ttime\n${rows(i => `${uv(i)}\t${serial(i, 5)}`)}`,
    startedAt: '2023-07-16T10:30:01.428',
    asked: [/About 216 rows share a time stamp/],
  },
  {
    ...plain,
    name: 'serial dates in steps of 86 s',
    file: `time;ECG (uV)\n${rows(i => `${serial(i, 3)};${uv(i)}`)}`,
    rate: 250,
    startedAt: '2023-07-16T10:30:43.200',
    asked: [/not computable, as the dates are written in steps of 86\.4 s: it must be given/],
  },
  {
    ...plain,
    name: 'a device called FS 2000 above the rows',
    file: `Device: FS 2000\n\n${header}${body}`,
  },
  {
    ...plain,
    name: 'a device called FS 2000 and no times',
    file: `Device: FS 2000\n\nECG (uV)\n${rows(i => `${uv(i)}`)}`,
    rate: 250,
    asked: [noRate],
  },
  {
    ...plain,
    name: 'no header',
    file: rows(i => `${4 * i},${inMv(i)}`),
    asked: [/Column 1 does not say its unit/, noUnit],
  },
  { ...plain, name: 'values alone, a rate in a comment', file: `# fs = 250 Hz\n${rows(inMv)}`, asked: [noUnit] },
  { ...plain, name: 'values alone', file: `ECG (uV)\n${rows(i => `${uv(i)}`)}`, rate: 250, asked: [noRate] },
  {
    ...plain,
    name: 'seconds since 1970',
    file: `timestamp,ECG (uV)\n${rows(i => `${(1_773_477_000 + i * 0.004).toFixed(3)},${uv(i)}`)}`,
    startedAt: wallStart,
    asked: [/start time is UTC/],
  },
  {
    ...plain,
    name: 'milliseconds since 1970',
    file: `timestamp,ECG (uV)\n${rows(i => `${1_773_477_000_000 + i * 4},${uv(i)}`)}`,
    startedAt: wallStart,
    asked: [/start time is UTC/],
  },
  {
    ...plain,
    name: 'ISO 8601',
    file: `time,ECG (uV)\n${rows(i => `${wall(i * 4).slice(0, 23)},${uv(i)}`)}`,
    startedAt: wallStart,
  },
  {
    ...plain,
    name: 'ISO 8601 in UTC',
    file: `time,ECG (uV)\n${rows(i => `${wall(i * 4)},${uv(i)}`)}`,
    startedAt: wallStart,
  },
  {
    ...plain,
    name: 'a zone that changes at the end of summer time',
    file: `time,ECG (uV)\n${rows(i => {
      const ms = Date.UTC(2025, 9, 26, 0, 59, 55) + 4 * i;
      const hours = ms < Date.UTC(2025, 9, 26, 1) ? 2 : 1;
      return `${new Date(ms + hours * 3_600_000).toISOString().slice(0, 23)}+0${hours}:00,${uv(i)}`;
    })}`,
    startedAt: '2025-10-26T02:59:55',
  },
  {
    ...plain,
    name: 'wall clock set back at the end of summer time, no zone',
    file: `time,ECG (uV)\n${rows(i => {
      const ms = Date.UTC(2025, 9, 26, 0, 59, 55) + 4 * i;
      const hours = ms < Date.UTC(2025, 9, 26, 1) ? 2 : 1;
      return `${new Date(ms + hours * 3_600_000).toISOString().slice(0, 23)},${uv(i)}`;
    })}`,
    startedAt: '2025-10-26T02:59:55',
    asked: [/clock goes back by one hour/],
  },
  {
    ...plain,
    name: 'day first with dots',
    file: `time;ECG (uV)\n${rows(i => `14.03.2026 ${wall(i * 4).slice(11, 23)};${uv(i)}`)}`,
    startedAt: wallStart,
  },
  {
    ...plain,
    name: 'day first with slashes',
    file: `time;ECG (uV)\n${rows(i => `14/03/2026 ${wall(i * 4).slice(11, 23)};${uv(i)}`)}`,
    startedAt: wallStart,
  },
  {
    ...plain,
    name: 'month first with slashes, 12 hours',
    file: `time,ECG (uV)\n${rows(i => `03/14/2026 ${twelve(i * 4)},${uv(i)}`)}`,
    startedAt: wallStart,
  },
  {
    ...plain,
    name: 'day or month first with slashes',
    file: `time;ECG (uV)\n${rows(i => `05/03/2026 ${wall(i * 4).slice(11, 23)};${uv(i)}`)}`,
    startedAt: '2026-03-05T08:30:00',
    asked: [/"05\/03\/2026" is read with the day first/],
  },
  {
    ...plain,
    name: 'time of day',
    file: `clock,ECG (uV)\n${rows(i => `${wall(i * 4).slice(11, 23)},${uv(i)}`)}`,
    startedAt: null,
  },
  {
    ...plain,
    name: 'time of day over noon, 12 hours',
    file: `clock,ECG (uV)\n${rows(i => `${twelve(i * 4 + 12_595_000)},${uv(i)}`)}`,
    startedAt: null,
  },
  {
    ...plain,
    name: 'as of a stopwatch, m:ss.fff, beside a date',
    file: `date;time;ECG (uV)\n${rows(i => `14.03.2026;${wall(59_000 + i * 4).slice(15, 23)};${uv(i)}`)}`,
    startedAt: null,
  },
  {
    ...plain,
    name: 'date and time of day in two columns',
    file: `date,time,ECG (uV)\n${rows(i => `2026-03-14,${wall(i * 4).slice(11, 23)},${uv(i)}`)}`,
    startedAt: wallStart,
  },
  {
    ...plain,
    name: 'whole seconds',
    file: `time,ECG (uV)\n${rows(i => `${wall(Math.floor((i + 100) / 250) * 1000).slice(0, 19)},${uv(i)}`)}`,
    startedAt: '2026-03-14T08:30:00.400',
    asked: [/About 250 rows share a time stamp/],
  },
  {
    ...plain,
    name: 'one stamp a packet',
    file: `time_ms,ECG (uV)\n${rows(i => `${Math.floor(i / 50) * 200},${uv(i)}`)}`,
    asked: [/About 50 rows share a time stamp/],
  },
  {
    ...plain,
    name: 'one stamp a packet, two packets lost',
    file: `time_ms,ECG (uV)\n${rows(i => `${Math.floor((i < 1500 ? i : i + 100) / 50) * 200},${uv(i)}`)}`,
    samples: count + 100,
    gaps: [[1500, 1600]],
    asked: [/About 50 rows share a time stamp/],
  },
  {
    ...plain,
    name: 'stamps that jitter by 20 %',
    file: `time_ms,ECG (uV)\n${rows(i => `${(4 * i + 0.8 * shaken(i) + 1).toFixed(3)},${uv(i)}`)}`,
    asked: [/time stamps jitter by about/],
  },
  {
    ...plain,
    name: 'stamps that jitter by 20 %, 25 rows lost',
    file: `time_ms,ECG (uV)\n${rows(i => `${(4 * (i < 1500 ? i : i + 25) + 0.8 * shaken(i) + 1).toFixed(3)},${uv(i)}`)}`,
    samples: count + 25,
    gaps: [[1500, 1525]],
    asked: [/time stamps jitter by about/],
  },
  {
    ...plain,
    name: 'a gap',
    file: `time_ms,ECG (uV)\n${rows(i => `${4 * (i < 1000 ? i : i + 300)},${uv(i)}`)}`,
    samples: count + 300,
    gaps: [[1000, 1300]],
  },
  {
    ...plain,
    name: 'row index in front, as data frames write it',
    file: `,time_ms,ECG (uV)\n${rows(i => `${i},${4 * i},${uv(i)}`)}`,
  },
  {
    ...plain,
    name: 'quoted row index in front and no time',
    file: `"","ECG (uV)"\n${rows(i => `"${i + 1}",${uv(i)}`)}`,
    rate: 250,
    asked: [/counts samples/, noRate],
  },
  {
    ...plain,
    name: 'packet counter beside the signal',
    file: `time_ms,packet,ECG (uV)\n${rows(i => `${4 * i},${i % 256},${uv(i)}`)}`,
  },
  {
    ...plain,
    name: 'values on a high baseline, no unit',
    file: `time_ms,ECG\n${rows(i => `${4 * i},${8_388_608 + uv(i)}`)}`,
    mv: [first.map(i => (8_388_608 + uv(i)) / 1000)],
    asked: [/swing by .* are read as uV/],
  },
  {
    ...plain,
    name: 'volts on a baseline, no unit',
    file: `time_ms,ECG\n${rows(i => `${4 * i},${(1.65 + uv(i) / 1e6).toFixed(6)}`)}`,
    mv: [first.map(i => Math.round((1.65 + uv(i) / 1e6) * 1e6) / 1000)],
    asked: [/swing by .* are read as V/],
  },
];
