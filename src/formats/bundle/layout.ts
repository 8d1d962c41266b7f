import { utf8ToBytes } from '@noble/hashes/utils.js';
import { asWritten, canonicalJson, type EditLog } from '../../core/marks/log';
import type { Marks } from '../../core/marks/markset';
import type { Lead, SampleArray, SampleFormat } from '../../core/recording/recording';
import type { ReviewedSession, SessionRecording } from '../../core/review/session';

/** Where everything lies in a session bundle, and the bytes of its text entries. */

export const manifestPath = 'manifest.json';

const extensions: Record<SampleFormat, string> = { int16: 'i16', int32: 'i32', float32: 'f32' };
export const bytesPerSample: Record<SampleFormat, number> = { int16: 2, int32: 4, float32: 4 };

/** `recordings/chest-band/1-chest.i16`: number and name of the lead, so that equal names do not collide. */
export function leadPath(recordingId: string, index: number, lead: Pick<Lead, 'name' | 'format'>): string {
  const name = lead.name.replace(/[^A-Za-z0-9]+/g, '-').replace(/^-+|-+$/g, '');
  return `recordings/${recordingId}/${[index + 1, name.slice(0, 40)].filter(p => p !== '').join('-')}.${extensions[lead.format]}`;
}

export function detectedPath(recordingId: string): string {
  return `recordings/${recordingId}/detected.csv`;
}

/** Characters that are not letters, digits, hyphen or underscore are written as `%` and their UTF-8 bytes in hex. */
export function logPath(rater: string): string {
  const hex = (byte: number) => `%${byte.toString(16).padStart(2, '0')}`;
  const safe = rater.replace(/[^A-Za-z0-9_-]/gu, c => Array.from(utf8ToBytes(c), hex).join(''));
  return `logs/${safe}.jsonl`;
}

/** One column `sample`, one mark a line, lines ending in a line feed. */
function marksCsv(marks: Marks): Uint8Array {
  return utf8ToBytes(`sample\n${marks.join('\n')}${marks.length > 0 ? '\n' : ''}`);
}

/** First line the header, then one entry a line as it was written, as canonical JSON. */
export function logLines(log: EditLog): Uint8Array {
  return utf8ToBytes([log.header, ...log.entries.map(asWritten)].map(part => `${canonicalJson(part)}\n`).join(''));
}

/** The words as they are stored: little-endian, as every machine that runs a browser has them. */
export function sampleBytes(words: SampleArray): Uint8Array {
  return new Uint8Array(words.buffer, words.byteOffset, words.byteLength);
}

/** An entry to write: its bytes, or the lead whose words it holds. */
export type PlannedEntry =
  | { readonly path: string; readonly bytes: Uint8Array }
  | { readonly path: string; readonly item: SessionRecording; readonly leadIndex: number };

/** Every entry but the manifest, in the order in which they are written: by path. */
export function plannedEntries({ session, logs }: ReviewedSession): PlannedEntry[] {
  const entries: PlannedEntry[] = logs.map(log => ({ path: logPath(log.header.rater), bytes: logLines(log) }));
  for (const item of session.recordings) {
    const { id, leads } = item.recording;
    entries.push({ path: detectedPath(id), bytes: marksCsv(item.detected) });
    for (const [leadIndex, lead] of leads.entries())
      entries.push({ path: leadPath(id, leadIndex, lead), item, leadIndex });
  }
  entries.sort((a, b) => (a.path < b.path ? -1 : 1));
  const twice = entries.find((e, i) => e.path === entries[i + 1]?.path);
  if (twice) throw new RangeError(`two raters or recordings have the same id: ${twice.path}`);
  return entries;
}
