import type { ByteSource } from '../bytes/source';
import { FormatError } from '../format-error';

/**
 * Header of the standard output file format of the International Society for Holter and Noninvasive Electrocardiology
 * (Badilini, Ann Noninvasive Electrocardiol 1998;3:263; the layout is from memory of that paper): magic number, checksum, a
 * block of 512 bytes, a block of variable length, then the ECG as interleaved int16 words. All little-endian.
 */
export const magic = 'ISHNE1.0';
export const fixedEnd = 522;

/** Offsets in the file; three words each for dates (day, month, year) and the start time (hour, minute, second). */
export const at = {
  checksum: 8,
  variableBytes: 10,
  samples: 14,
  variableOffset: 18,
  ecgOffset: 22,
  fileVersion: 26,
  firstName: 28,
  lastName: 68,
  id: 108,
  sex: 128,
  race: 130,
  birthDate: 132,
  recordDate: 138,
  fileDate: 144,
  startTime: 150,
  leadCount: 156,
  leadSpecs: 158,
  leadQualities: 182,
  resolutions: 206,
  pacemaker: 230,
  recorder: 232,
  samplingRate: 272,
} as const;

export const mostLeads = 12;

/** By lead specification, from 0. */
export const leadNames = [
  'unknown',
  'bipolar',
  'X',
  'Y',
  'Z',
  'I',
  'II',
  'III',
  'aVR',
  'aVL',
  'aVF',
  'V1',
  'V2',
  'V3',
  'V4',
  'V5',
  'V6',
  'ES',
  'AS',
  'AI',
] as const;

/** By lead quality, from 0. */
const qualities = [
  '',
  'good',
  'intermittent noise',
  'frequent noise',
  'intermittent disconnection',
  'frequent disconnection',
] as const;

export interface IshneLead {
  readonly name: string;
  /** In the words of the standard; '' when the file does not say. */
  readonly quality: string;
  /** nV a unit. */
  readonly resolutionNv: number;
}

export interface IshneHeader {
  readonly leads: readonly IshneLead[];
  readonly samplingRateHz: number;
  readonly ecgOffset: number;
  /** As the file counts them. */
  readonly samples: number;
  /** Local wall time; null where the file has none. */
  readonly startedAt: string | null;
  readonly recorder: string;
  readonly pacemaker: boolean;
  /** Kinds of identification in it, without their contents. */
  readonly identified: readonly string[];
  readonly warnings: readonly string[];
}

/** Checksum of the header: CRC of CCITT (polynomial 0x1021, begun with all ones), from behind it to the end of the header. */
export function ishneChecksum(bytes: Uint8Array): number {
  let crc = 0xffff;
  for (const byte of bytes) {
    crc ^= byte << 8;
    for (let bit = 0; bit < 8; bit++) crc = crc & 0x8000 ? ((crc << 1) ^ 0x1021) & 0xffff : (crc << 1) & 0xffff;
  }
  return crc;
}

export async function readIshneHeader(source: ByteSource): Promise<IshneHeader> {
  const fail = (place: string, problem: string): never => {
    throw new FormatError(source.name, 'ISHNE', place, problem, 'The file is cut off or damaged: copy it again.');
  };
  const head = await source.read(0, fixedEnd);
  if (head.length < fixedEnd) fail(`byte ${head.length}`, `its header has ${fixedEnd} bytes.`);
  const view = new DataView(head.buffer, head.byteOffset, head.byteLength);
  const variable = view.getInt32(at.variableBytes, true);
  const ecgOffset = view.getInt32(at.ecgOffset, true);
  const leadCount = view.getInt16(at.leadCount, true);
  const samplingRateHz = view.getInt16(at.samplingRate, true);
  if (variable < 0 || fixedEnd + variable > source.size) fail('byte 10', `its variable block has ${variable} bytes.`);
  if (ecgOffset < fixedEnd || ecgOffset > source.size) fail('byte 22', `its ECG begins at byte ${ecgOffset}.`);
  if (leadCount < 1 || leadCount > mostLeads)
    fail('byte 156', `it has ${leadCount} leads; 1 to ${mostLeads} are possible.`);
  if (samplingRateHz <= 0) fail('byte 272', `its sampling rate is ${samplingRateHz} Hz.`);
  const whole = await source.read(at.variableBytes, fixedEnd + variable);
  const warnings: string[] = [];
  if (ishneChecksum(whole) !== view.getUint16(at.checksum, true))
    warnings.push('The checksum of the header does not fit: something in it was changed or damaged.');
  return {
    leads: leadsOf(view, leadCount, warnings),
    samplingRateHz,
    ecgOffset,
    samples: view.getInt32(at.samples, true),
    startedAt: startOf(view),
    recorder: text(head, at.recorder, 40),
    pacemaker: view.getInt16(at.pacemaker, true) > 0,
    identified: identifiedIn(head, view),
    warnings,
  };
}

function leadsOf(view: DataView, count: number, warnings: string[]): IshneLead[] {
  return Array.from({ length: count }, (_, i) => {
    const spec = view.getInt16(at.leadSpecs + 2 * i, true);
    const named = leadNames[spec];
    const name = named === undefined || spec < 2 ? `lead ${i + 1}` : named;
    const resolutionNv = view.getInt16(at.resolutions + 2 * i, true);
    if (resolutionNv <= 0) warnings.push(`${name} does not say its resolution; 1 µV a unit is assumed.`);
    const quality = qualities[view.getInt16(at.leadQualities + 2 * i, true)] ?? '';
    return { name, quality, resolutionNv: resolutionNv > 0 ? resolutionNv : 1000 };
  });
}

const pad = (n: number, width = 2) => String(n).padStart(width, '0');

function startOf(view: DataView): string | null {
  const three = (from: number) => [0, 2, 4].map(o => view.getInt16(from + o, true)) as [number, number, number];
  const [day, month, year] = three(at.recordDate);
  const [hour, minute, second] = three(at.startTime);
  const time = `${pad(year, 4)}-${pad(month)}-${pad(day)}T${pad(hour)}:${pad(minute)}:${pad(second)}`;
  const ms = Date.parse(`${time}Z`);
  // The 31st of February is read as a day of March.
  return Number.isFinite(ms) && new Date(ms).toISOString().startsWith(time) && year >= 1900 ? time : null;
}

function identifiedIn(head: Uint8Array, view: DataView): string[] {
  const kinds: string[] = [];
  if (text(head, at.firstName, 40) + text(head, at.lastName, 40) !== '') kinds.push('patient name');
  if (text(head, at.id, 20) !== '') kinds.push('patient code');
  if ([1, 2].includes(view.getInt16(at.sex, true))) kinds.push('sex');
  if (view.getInt16(at.race, true) > 0) kinds.push('race');
  if (view.getInt16(at.birthDate + 4, true) > 0) kinds.push('birth date');
  return kinds;
}

/** Up to the first NUL. */
function text(head: Uint8Array, from: number, length: number): string {
  const bytes = head.subarray(from, from + length);
  const end = bytes.indexOf(0);
  return new TextDecoder('latin1').decode(end < 0 ? bytes : bytes.subarray(0, end)).trim();
}
