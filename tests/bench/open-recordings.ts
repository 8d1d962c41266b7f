import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { gunzipSync } from 'node:zlib';

/** Open, expert-marked recordings kept beside the project; absent on most machines. */
export const openFolder = join(import.meta.dirname, '../../../shared/open-data');

export const openRecordings = ['100', '105', '108', '119', '203', '208', '217', '222'];
/** Those in sinus rhythm almost throughout; the others are arrhythmic or paced. */
export const sinusRecordings = ['100', '105', '108'];

/** 200 words a mV in all of them. */
export const openMvPerUnit = 1 / 200;

export interface OpenRecording {
  readonly name: string;
  readonly words: Int16Array;
  readonly beats: Int32Array;
  readonly samplingRateHz: number;
}

export const openRecordingsPresent = existsSync(join(openFolder, '100.json'));

export function openRecording(name: string): OpenRecording {
  const about = JSON.parse(readFileSync(join(openFolder, `${name}.json`), 'utf8')) as { fs: number; beats: number[] };
  return { name, words: openLead(name), beats: Int32Array.from(about.beats), samplingRateHz: about.fs };
}

/** The database's annotation code of each beat. */
export function openClasses(name: string): number[] {
  return (JSON.parse(readFileSync(join(openFolder, `${name}.json`), 'utf8')) as { classes: number[] }).classes;
}

/** The words of a lead by the name of its file: '100', or '100-lead2' for the second lead. */
export function openLead(name: string): Int16Array {
  const bytes = gunzipSync(readFileSync(join(openFolder, `${name}.i16.gz`)));
  return new Int16Array(bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.length));
}
