/** A file of EDF's family, in a random shape. */
export interface EdfCase {
  readonly bytes: Uint8Array;
  /** What it is, for whoever looks at a difference. */
  readonly shape: string;
}

const pick = <T>(random: () => number, from: readonly T[]): T => from[Math.floor(random() * from.length)]!;
const whole = (random: () => number, low: number, high: number) => low + Math.floor(random() * (high - low + 1));

interface Signal {
  readonly label: string;
  readonly unit: string;
  readonly limits: readonly [physicalMin: string, physicalMax: string, digitalMin: number, digitalMax: number];
  readonly perRecord: number;
}

const kinds = ['EDF', 'EDF+C', 'EDF+D', 'BDF', 'BDF+C', 'BDF+D'] as const;

/** Records of 0.1 to 4 s, one to four signals of several rates, units, scales and directions; jumps of whole records. */
export function edfCase(random: () => number): EdfCase {
  const kind = pick(random, kinds);
  const width = kind.startsWith('BDF') ? 3 : 2;
  const seconds = pick(random, ['1', '2', '4', '0.5', '0.1', '1.00']);
  const signals = Array.from({ length: whole(random, 1, 4) }, (_, i) => signalOf(random, i, width, Number(seconds)));
  const records = whole(random, 1, 8);
  const annotated = kind.includes('+');
  const onsets = onsetsOf(random, records, Number(seconds), kind.endsWith('D'));
  const head = headerOf(random, { kind, seconds, signals, records, annotated, width });
  const parts: Uint8Array[] = [head];
  for (let r = 0; r < records; r++) {
    for (const { perRecord, limits } of signals) {
      const words = Array.from({ length: perRecord }, () => whole(random, limits[2], limits[3]));
      parts.push(Uint8Array.from(words.flatMap(word => bytesOf(word, width))));
    }
    if (annotated) parts.push(channelOf(onsets[r]!, width));
  }
  const shape = JSON.stringify({ kind, seconds, signals, records, onsets });
  return { bytes: Buffer.concat(parts), shape };
}

function signalOf(random: () => number, i: number, width: number, seconds: number): Signal {
  const most = width === 3 ? 8_388_607 : 32_767;
  const digitalMax = pick(random, [most, 2047, 1000, most - 1]);
  const digitalMin = pick(random, [-digitalMax - 1, -digitalMax, 0, -100]);
  const size = pick(random, ['5', '3276.7', '0.5', '1000', '12.345']);
  const physical: [string, string] = pick(random, [
    [`-${size}`, size],
    [size, `-${size}`],
    ['0', size],
    [`-${size}`, '0'],
  ]);
  const unit = pick(random, ['uV', 'mV', 'V', 'nV', 'µV']);
  const perSecond = pick(random, [10, 20, 50, 100]);
  const label = pick(random, ['ECG', 'EKG II', 'EEG Fpz', 'V5', 'chest']);
  return {
    label: `${label} ${i}`,
    unit,
    limits: [...physical, digitalMin, digitalMax],
    perRecord: perSecond * seconds,
  };
}

/** Seconds from the start; the first may be a part of a second. */
function onsetsOf(random: () => number, records: number, seconds: number, jumps: boolean): number[] {
  const out: number[] = [];
  let at = 0;
  for (let r = 0; r < records; r++) {
    if (jumps && r > 0 && random() < 0.3) at += whole(random, 1, 5) * seconds;
    out.push(Math.round(at * 1e6) / 1e6);
    at += seconds;
  }
  return out;
}

interface Header {
  readonly kind: string;
  readonly seconds: string;
  readonly signals: readonly Signal[];
  readonly records: number;
  readonly annotated: boolean;
  readonly width: number;
}

const channelBytes = 60;

function headerOf(random: () => number, { kind, seconds, signals, records, annotated, width }: Header): Uint8Array {
  const bdf = width === 3;
  const most = bdf ? 8_388_607 : 32_767;
  const channel = {
    label: bdf ? 'BDF Annotations' : 'EDF Annotations',
    unit: '',
    limits: ['-1', '1', -most - 1, most] as const,
    perRecord: channelBytes / width,
  };
  const all = annotated ? [...signals, channel] : signals;
  // The micro sign as one byte or as UTF-8.
  const encoding = random() < 0.5 ? 'latin1' : 'utf8';
  const padded = (text: string | number, length: number) => {
    const bytes = Buffer.from(String(text), encoding);
    return Buffer.concat([bytes.subarray(0, length), Buffer.alloc(Math.max(0, length - bytes.length), ' ')]);
  };
  const reserved = annotated ? kind : bdf ? '24BIT' : '';
  // A recorder that was cut off leaves -1, which EDF+ allows while recording.
  const count = random() < 0.1 ? -1 : records;
  const each = (value: (signal: (typeof all)[number]) => string | number, length: number) =>
    all.map(signal => padded(value(signal), length));
  return Buffer.concat([
    bdf ? Buffer.from([0xff, ...Buffer.from('BIOSEMI')]) : padded('0', 8),
    padded('X X X X', 80),
    padded('Startdate 14-MAR-2026 X X logger', 80),
    padded('14.03.26', 8),
    padded('08.30.00', 8),
    padded(256 * (all.length + 1), 8),
    padded(reserved, 44),
    padded(count, 8),
    padded(seconds, 8),
    padded(all.length, 4),
    ...each(s => s.label, 16),
    ...each(() => '', 80),
    ...each(s => s.unit, 8),
    ...each(s => s.limits[0], 8),
    ...each(s => s.limits[1], 8),
    ...each(s => s.limits[2], 8),
    ...each(s => s.limits[3], 8),
    ...each(() => '', 80),
    ...each(s => s.perRecord, 8),
    ...each(() => '', 32),
  ]);
}

function bytesOf(word: number, width: number): number[] {
  return Array.from({ length: width }, (_, b) => (word >> (8 * b)) & 0xff);
}

function channelOf(onset: number, width: number): Uint8Array {
  const text = Buffer.from(`+${onset}\x14\x14\0`, 'latin1');
  return Buffer.concat([text, Buffer.alloc(Math.floor(channelBytes / width) * width - text.length)]);
}
