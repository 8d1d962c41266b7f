import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { gunzipSync } from 'node:zlib';

/** Open, expert-marked recordings kept beside the project; absent on most machines. */
const folder = join(import.meta.dirname, '../../../shared/open-data');

export const openRecordings = ['100', '105', '108', '119', '203', '208', '217', '222'];
/** Those in sinus rhythm almost throughout; the others are arrhythmic or paced. */
export const sinusRecordings = ['100', '105', '108'];

export interface OpenRecording {
  readonly name: string;
  readonly words: Int16Array;
  readonly beats: Int32Array;
  readonly samplingRateHz: number;
}

export const openRecordingsPresent = existsSync(join(folder, '100.json'));

export function openRecording(name: string): OpenRecording {
  const about = JSON.parse(readFileSync(join(folder, `${name}.json`), 'utf8')) as { fs: number; beats: number[] };
  const bytes = gunzipSync(readFileSync(join(folder, `${name}.i16.gz`)));
  const words = new Int16Array(bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.length));
  return { name, words, beats: Int32Array.from(about.beats), samplingRateHz: about.fs };
}
