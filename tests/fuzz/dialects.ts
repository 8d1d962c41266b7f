import { type MemorySink, memorySink } from '../../src/formats/bytes/memory-sink';
import { bytesSource } from '../../src/formats/bytes/source';
import { FormatError } from '../../src/formats/format-error';
import { inflated } from '../../src/formats/open';
import { previewText } from '../../src/formats/text/layout';
import { readTextSignal } from '../../src/formats/text/signal';

type RandomSource = () => number;

/** A table with known values, written in one of all combinations of dialect. */
interface Written {
  readonly bytes: Uint8Array;
  /** In words, to write the case down. */
  readonly dialect: string;
  /** In uV. */
  readonly leads: readonly (readonly number[])[];
  readonly rateHz: number;
  /** Of each row on the even grid; what lies between is a gap. */
  readonly places: readonly number[];
}

export type Verdict = 'the same' | 'asked' | 'refused' | 'silently different';

const pick = <T>(random: RandomSource, values: readonly T[]): T => values[Math.floor(random() * values.length)]!;
const encoder = new TextEncoder();

function utf16(text: string, little: boolean): Uint8Array {
  const bytes = new Uint8Array(2 * text.length + 2);
  const view = new DataView(bytes.buffer);
  view.setUint16(0, 0xfeff, little);
  for (let i = 0; i < text.length; i++) view.setUint16(2 * i + 2, text.charCodeAt(i), little);
  return bytes;
}

function grouped(whole: string, mark: string): string {
  return mark === '' ? whole : whole.replace(/\B(?=(\d{3})+$)/g, mark);
}

/** A number with a fixed number of decimals. */
function numberText(value: number, decimals: number, decimalMark: string, groupMark: string): string {
  const [whole, fraction] = Math.abs(value).toFixed(decimals).split('.');
  const sign = value < 0 ? '-' : '';
  return `${sign}${grouped(whole!, groupMark)}${fraction === undefined ? '' : decimalMark + fraction}`;
}

type TimeStyle =
  | 'none'
  | 's'
  | 'ms'
  | 'us'
  | 'iso'
  | 'isoZ'
  | 'dots'
  | 'clock'
  | 'whole seconds'
  | 'packets'
  | 'epoch ms';
const timeStyles: readonly TimeStyle[] = [
  'none',
  's',
  'ms',
  'us',
  'iso',
  'isoZ',
  'dots',
  'clock',
  'whole seconds',
  'packets',
  'epoch ms',
];
const startMs = Date.UTC(2026, 2, 14, 8, 30);

function timeText(style: TimeStyle, place: number, rateHz: number, decimalMark: string): string {
  const ms = (place * 1000) / rateHz;
  const iso = new Date(startMs + ms).toISOString();
  switch (style) {
    case 's':
      return (ms / 1000).toFixed(3).replace('.', decimalMark);
    case 'ms':
      return String(ms);
    case 'us':
      return String(ms * 1000);
    case 'iso':
      return iso.slice(0, 23);
    case 'isoZ':
      return iso;
    case 'dots':
      return `${iso.slice(8, 10)}.${iso.slice(5, 7)}.${iso.slice(0, 4)} ${iso.slice(11, 23)}`;
    case 'clock':
      return iso.slice(11, 23);
    case 'whole seconds':
      return iso.slice(0, 19);
    case 'packets':
      return String(Math.floor(place / 25) * 25 * (1000 / rateHz));
    case 'epoch ms':
      return String(startMs + ms);
    default:
      return '';
  }
}

const timeNames: Readonly<Record<TimeStyle, string>> = {
  none: '',
  s: 'time_s',
  ms: 'time (ms)',
  us: 't_us',
  iso: 'time',
  isoZ: 'time',
  dots: 'time',
  clock: 'clock',
  'whole seconds': 'time',
  packets: 'time_ms',
  'epoch ms': 'timestamp',
};

function makeTable(random: RandomSource): Written {
  const separator = pick(random, [',', ';', '\t', '  '] as const);
  const quoted = separator !== '  ' && random() < 0.3;
  const time = pick(random, separator === '  ' ? timeStyles.filter(s => s !== 'dots') : timeStyles);
  const decimalMark = separator === ',' && !quoted ? '.' : pick(random, ['.', ','] as const);
  const groups = [decimalMark === ',' ? '.' : ',', "'", '', ''].filter(g => g !== separator || quoted);
  const groupMark = separator === '  ' ? '' : pick(random, groups);
  const unit = pick(random, ['uV', 'mV'] as const);
  const decimals = unit === 'mV' ? 3 : pick(random, [0, 0, 1]);
  const header = pick(random, ['names', 'names', 'units row', 'preamble'] as const);
  const end = pick(random, ['\n', '\r\n', '\r'] as const);
  const encoding = pick(random, ['utf-8', 'utf-8', 'bom', 'utf-16le', 'utf-16be'] as const);
  const rateHz = pick(random, [100, 125, 200, 250, 500]);
  const count = time === 'whole seconds' ? 4 * rateHz : 60 + Math.floor(random() * 120);
  const gapAt = time === 'none' || time === 'whole seconds' || time === 'packets' || random() < 0.6 ? count : 30;
  const gap = 5 + Math.floor(random() * 40);
  const places = Array.from({ length: count }, (_, i) => (i < gapAt ? i : i + gap));
  const size = pick(random, [300, 1500, 4000]);
  const leads = Array.from({ length: pick(random, [1, 2, 2]) }, () =>
    Array.from({ length: count }, () => Math.round((random() * 2 - 1) * size)),
  );
  const quote = (text: string) => (quoted ? `"${text}"` : text);
  const value = (uv: number) => numberText(unit === 'mV' ? uv / 1000 : uv, decimals, decimalMark, groupMark);
  const line = (cells: readonly string[]) =>
    cells
      .filter(c => c !== '')
      .map(quote)
      .join(separator) + end;
  const names = leads.map((_, i) => (i === 0 ? 'ECG' : 'II'));
  const named =
    header === 'units row'
      ? line([time === 'none' ? '' : timeNames[time].replace(/[ _(]+[mu]?s\)?$/, ''), ...names]) +
        line([unitOf(time), ...names.map(() => unit)])
      : line([timeNames[time], ...names.map(n => `${n}_${unit}`)]);
  const preamble = header === 'preamble' ? `Recorder: chest band${end}${end}` : '';
  const rows = places.map((p, i) => line([timeText(time, p, rateHz, decimalMark), ...leads.map(l => value(l[i]!))]));
  const text = `${time === 'none' ? `# fs = ${rateHz} Hz${end}` : ''}${preamble}${named}${rows.join('')}`;
  const bytes = encoding.startsWith('utf-16')
    ? utf16(text, encoding === 'utf-16le')
    : encoder.encode(encoding === 'bom' ? `\ufeff${text}` : text);
  const dialect = JSON.stringify({
    separator,
    quoted,
    time,
    decimalMark,
    groupMark,
    unit,
    decimals,
    header,
    end,
    encoding,
    rateHz,
    size,
    gapAt,
  });
  return { bytes, dialect, leads, rateHz, places };
}

/** The unit that stands in a row of its own; blank columns have a dash. */
function unitOf(time: TimeStyle): string {
  if (time === 'none') return '';
  return time === 's' || time === 'ms' || time === 'us' ? time : time === 'packets' ? 'ms' : '-';
}

/** Reads a table as a person does who changes nothing, and holds it against what was written. */
export async function differential(random: RandomSource): Promise<{ verdict: Verdict; dialect: string; text: string }> {
  const written = makeTable(random);
  const text = new TextDecoder().decode(written.bytes.subarray(0, 400));
  const say = (verdict: Verdict) => ({ verdict, dialect: written.dialect, text });
  try {
    const source = await inflated(bytesSource('table', written.bytes));
    const layout = await previewText(source);
    if (layout.samplingRateHz === null) return say('asked');
    const sink = memorySink();
    const opened = await readTextSignal(source, layout, sink);
    if (await same(written, opened.recording, sink)) return say('the same');
    const doubtful = layout.doubts.length + opened.warnings.length + opened.dropped.length > 0;
    return say(doubtful ? 'asked' : 'silently different');
  } catch (error) {
    if (error instanceof FormatError) return say('refused');
    throw error;
  }
}

async function same(
  { leads, rateHz, places }: Written,
  recording: { samplingRateHz: number; sampleCount: number; leads: readonly { mvPerUnit: number; offset: number }[] },
  sink: MemorySink,
): Promise<boolean> {
  if (recording.leads.length !== leads.length || Math.abs(recording.samplingRateHz / rateHz - 1) > 1e-6) return false;
  if (recording.sampleCount !== places.at(-1)! + 1) return false;
  for (const [i, values] of leads.entries()) {
    const { mvPerUnit, offset } = recording.leads[i]!;
    const read = await sink.samples(i).read(0, recording.sampleCount);
    const near = (v: number, r: number) =>
      Math.abs((read[places[r]!]! - offset) * mvPerUnit * 1000 - v) < 1e-3 * Math.max(1, Math.abs(v));
    if (!values.every(near)) return false;
  }
  return true;
}
