import type { ByteSource } from '../bytes/source';
import { FormatError } from '../format-error';
import { wallTime } from '../opened';

/**
 * The EDF header. Sources: Kemp B, Värri A, Rosa AC, Nielsen KD, Gade J. Electroencephalogr Clin Neurophysiol
 * 1992;82:391 (EDF); Kemp B, Olivan J. Clin Neurophysiol 2003;114:1755 (EDF+).
 */

export const annotationSignalLabel = 'EDF Annotations';
const bdfAnnotationLabel = 'BDF Annotations';

export interface EdfSignal {
  readonly label: string;
  readonly unit: string;
  readonly physicalMin: number;
  readonly physicalMax: number;
  readonly digitalMin: number;
  readonly digitalMax: number;
  readonly samplesPerRecord: number;
  /** Where this signal's words begin inside a data record. */
  readonly byteInRecord: number;
  readonly isAnnotations: boolean;
}

export interface EdfHeader {
  readonly kind: 'EDF' | 'EDF+C' | 'EDF+D';
  /** 3 for BDF and BDF+, which are laid out as EDF and EDF+ are, with samples of 24 bits. */
  readonly sampleBytes: 2 | 3;
  readonly patient: string;
  readonly recordingText: string;
  /** Local wall time to whole seconds; null when unknown or invalid. */
  readonly startedAt: string | null;
  readonly headerBytes: number;
  readonly recordBytes: number;
  /** Whole data records that are really in the file. */
  readonly recordCount: number;
  readonly recordSeconds: number;
  readonly signals: readonly EdfSignal[];
  readonly warnings: readonly string[];
}

/** Signal header fields in file order: name and width in bytes. */
export const signalFields = [
  ['label', 16],
  ['transducer', 80],
  ['unit', 8],
  ['physicalMin', 8],
  ['physicalMax', 8],
  ['digitalMin', 8],
  ['digitalMax', 8],
  ['prefilter', 80],
  ['samplesPerRecord', 8],
  ['reserved', 32],
] as const;

type FieldName = (typeof signalFields)[number][0];

/** Reads and checks the header. Every size the file claims is held against the file's real size before use. */
export async function readEdfHeader(source: ByteSource): Promise<EdfHeader> {
  const head = await source.read(0, 256);
  const text = new FieldReader(source.name, head);
  const sampleBytes = checkVersion(source, head);
  const signalCount = text.whole(252, 4, 'number of signals');
  const headerBytes = 256 * (signalCount + 1);
  if (signalCount < 1) text.fail(252, `the number of signals is ${signalCount}.`, 'The file holds nothing to open.');
  if (headerBytes > source.size) {
    text.fail(
      252,
      `${signalCount} signal headers do not fit in ${source.size} bytes.`,
      'The file is cut off or damaged: copy it again.',
    );
  }
  const warnings: string[] = [];
  const statedBytes = text.number(184, 8);
  if (statedBytes !== headerBytes)
    warnings.push(`The header says it is ${statedBytes} bytes long; it is ${headerBytes}.`);
  const signals = readSignals(source.name, await source.read(256, headerBytes), signalCount, sampleBytes);
  const reserved = text.text(192, 44);
  const recordingText = text.text(88, 80);
  return {
    kind: /^[EB]DF\+C/.test(reserved) ? 'EDF+C' : /^[EB]DF\+D/.test(reserved) ? 'EDF+D' : 'EDF',
    sampleBytes,
    patient: text.text(8, 80),
    recordingText,
    startedAt: startTime(text.text(168, 8), text.text(176, 8), recordingText, warnings),
    headerBytes,
    ...countRecords(source, text, headerBytes, signals, sampleBytes, warnings),
    recordSeconds: recordSeconds(text),
    signals,
    warnings,
  };
}

/** Bytes of a sample. Source of BDF: BioSemi's description of the 24-bit format; version 255 and "BIOSEMI". */
function checkVersion(source: ByteSource, head: Uint8Array): 2 | 3 {
  const fail = (problem: string, remedy: string): never => {
    throw new FormatError(source.name, 'EDF', 'byte 0', problem, remedy);
  };
  if (head.length < 256)
    fail(`the file has ${head.length} bytes; a header needs 256.`, 'The file is cut off: copy it again.');
  if (head[0] === 0xff && latin1(head.subarray(1, 8)) === 'BIOSEMI') return 3;
  if (latin1(head.subarray(0, 8)).trim() !== '0') fail('the version field is not "0".', 'Choose another format.');
  return 2;
}

function recordSeconds(text: FieldReader): number {
  const value = text.number(244, 8);
  if (value === null || value < 0) text.fail(244, 'the record duration is not a number.', 'Correct the header.');
  return value as number;
}

function countRecords(
  source: ByteSource,
  text: FieldReader,
  headerBytes: number,
  signals: readonly EdfSignal[],
  sampleBytes: 2 | 3,
  warnings: string[],
): Pick<EdfHeader, 'recordBytes' | 'recordCount'> {
  const recordBytes = sampleBytes * signals.reduce((sum, s) => sum + s.samplesPerRecord, 0);
  if (recordBytes === 0) text.fail(216, 'every signal has 0 samples a record.', 'The file holds nothing to open.');
  const there = Math.floor((source.size - headerBytes) / recordBytes);
  const rest = (source.size - headerBytes) % recordBytes;
  const stated = text.number(236, 8);
  if (stated === null || stated < 0 || !Number.isInteger(stated)) {
    warnings.push(`The number of data records is not stated (${text.text(236, 8) || 'blank'}); counted ${there}.`);
    if (rest > 0) warnings.push(`The last ${rest} bytes are no whole data record and are left out.`);
    return { recordBytes, recordCount: there };
  }
  if (stated > there)
    warnings.push(`The header promises ${stated} data records, ${there} are there whole; those are read.`);
  const extra = source.size - headerBytes - stated * recordBytes;
  if (extra > 0) warnings.push(`${extra} bytes after the last data record are left out.`);
  return { recordBytes, recordCount: Math.min(stated, there) };
}

function readSignals(file: string, bytes: Uint8Array, count: number, sampleBytes: 2 | 3): EdfSignal[] {
  const text = new FieldReader(file, bytes, 256);
  const at = {} as Record<FieldName, (signal: number) => [number, number]>;
  let start = 0;
  for (const [name, width] of signalFields) {
    const from = start;
    at[name] = signal => [from + signal * width, width];
    start += width * count;
  }
  const signals: EdfSignal[] = [];
  let byteInRecord = 0;
  for (let i = 0; i < count; i++) {
    const samplesPerRecord = text.whole(...at.samplesPerRecord(i), 'samples per record');
    const label = text.text(...at.label(i));
    const number = (name: FieldName) => text.number(...at[name](i)) ?? Number.NaN;
    signals.push({
      label,
      unit: text.text(...at.unit(i)),
      physicalMin: number('physicalMin'),
      physicalMax: number('physicalMax'),
      digitalMin: number('digitalMin'),
      digitalMax: number('digitalMax'),
      samplesPerRecord,
      byteInRecord,
      isAnnotations: label === (sampleBytes === 3 ? bdfAnnotationLabel : annotationSignalLabel),
    });
    byteInRecord += sampleBytes * samplesPerRecord;
  }
  return signals;
}

/** Fields are ASCII by the standard; real files hold Latin-1, NULs, tabs and decimal commas. */
class FieldReader {
  constructor(
    private readonly file: string,
    private readonly bytes: Uint8Array,
    private readonly base = 0,
  ) {}

  text(at: number, width: number): string {
    return fieldText(this.bytes.subarray(at, at + width)).trim();
  }

  number(at: number, width: number): number | null {
    const text = this.text(at, width).replace(',', '.');
    const value = Number(text);
    return text === '' || !Number.isFinite(value) ? null : value;
  }

  whole(at: number, width: number, what: string): number {
    const value = this.number(at, width);
    if (value !== null && Number.isInteger(value) && value >= 0) return value;
    return this.fail(
      at,
      `the ${what} is "${this.text(at, width)}".`,
      'A whole number belongs there: correct the header.',
    );
  }

  fail(at: number, problem: string, remedy: string): never {
    throw new FormatError(this.file, 'EDF', `byte ${this.base + at}`, problem, remedy);
  }
}

const utf8 = new TextDecoder('utf-8', { fatal: true });

/** ASCII by the standard; some recorders write `µV` as UTF-8, others as Latin-1. */
function fieldText(bytes: Uint8Array): string {
  if (!bytes.some(b => b >= 0xc2)) return latin1(bytes);
  try {
    return utf8.decode(bytes.map(b => (b === 0 || b === 9 ? 0x20 : b)));
  } catch {
    return latin1(bytes);
  }
}

export function latin1(bytes: Uint8Array): string {
  let out = '';
  for (const b of bytes) out += b === 0 || b === 9 ? ' ' : String.fromCharCode(b);
  return out;
}

const months = ['JAN', 'FEB', 'MAR', 'APR', 'MAY', 'JUN', 'JUL', 'AUG', 'SEP', 'OCT', 'NOV', 'DEC'];

/** `dd-MMM-yyyy`, the EDF+ date. */
export function edfPlusDate(ms: number): string {
  const date = new Date(ms);
  const day = String(date.getUTCDate()).padStart(2, '0');
  return `${day}-${months[date.getUTCMonth()]}-${String(date.getUTCFullYear()).padStart(4, '0')}`;
}

/** Two-digit years count from 1985 (EDF+); the four-digit date of the EDF+ recording field wins. */
function startTime(date: string, time: string, recordingText: string, warnings: string[]): string | null {
  const clock = /^(\d\d)[.:](\d\d)[.:](\d\d)$/.exec(time);
  const short = /^(\d\d)[./-](\d\d)[./-](\d\d)$/.exec(date);
  const long = /^Startdate (\d\d)-([A-Za-z]{3})-(\d{4})(?: |$)/.exec(recordingText);
  const unknown = /^Startdate X(?: |$)/.test(recordingText) || (date === '01.01.85' && time === '00.00.00' && !long);
  if (unknown) return null;
  const month = long ? months.indexOf(long[2]!.toUpperCase()) + 1 : Number(short?.[2]);
  const year = long ? Number(long[3]) : Number(short?.[3]) + (Number(short?.[3]) >= 85 ? 1900 : 2000);
  const day = Number(long ? long[1] : short?.[1]);
  const ms = Date.UTC(year, month - 1, day, Number(clock?.[1]), Number(clock?.[2]), Number(clock?.[3]));
  const ofDay = Number(clock?.[1]) < 24 && Number(clock?.[2]) < 60 && Number(clock?.[3]) < 60;
  const valid =
    clock &&
    ofDay &&
    Number.isFinite(ms) &&
    new Date(ms).getUTCDate() === day &&
    new Date(ms).getUTCMonth() === month - 1;
  if (valid) return wallTime(ms);
  warnings.push(`The start "${date} ${time}" is no valid date and time; the recording has no start time.`);
  return null;
}
