import type { EdfAnnotation } from './annotations';
import { onsetText } from './layout';

/** The annotation channel of a file to be written. */
export interface TalChannel {
  readonly bytesPerRecord: number;
  readonly recordCount: number;
  record(index: number): Uint8Array;
}

const encoder = new TextEncoder();

/**
 * Spreads annotations, sorted by onset, over the records. Each waits for the record that holds its onset and moves on to
 * a later one when that is full (EDF+ allows it); the channel is the smallest of 64, 128, 256 ... bytes with which all fit.
 */
export function packTals(recordOnsets: readonly number[], annotations: readonly EdfAnnotation[]): TalChannel {
  const stamps = recordOnsets.map(onset => encoder.encode(`${onsetText(onset)}\x14\x14\0`));
  const tals = annotations.map(talBytes);
  const home = homeRecords(recordOnsets, annotations);
  for (let bytes = 64; ; bytes *= 2) {
    const last = place(stamps, tals, home, bytes);
    if (last)
      return { bytesPerRecord: bytes, recordCount: stamps.length, record: i => fill(stamps, tals, last, i, bytes) };
  }
}

function talBytes(a: EdfAnnotation): Uint8Array {
  const duration = a.durationSeconds === null ? '' : `\x15${onsetText(Math.max(0, a.durationSeconds)).slice(1)}`;
  // biome-ignore lint/suspicious/noControlCharactersInRegex: these bytes delimit annotations, so no text may hold them
  const text = a.text.replace(/[\x00-\x08\x0b\x0c\x0e-\x1f]/g, ' ');
  return encoder.encode(`${onsetText(a.onsetSeconds)}${duration}\x14${text}\x14\0`);
}

/** The last record that starts at or before each onset. */
function homeRecords(recordOnsets: readonly number[], annotations: readonly EdfAnnotation[]): number[] {
  let r = 0;
  return annotations.map(a => {
    while (r + 1 < recordOnsets.length && recordOnsets[r + 1]! <= a.onsetSeconds + 1e-7) r++;
    return r;
  });
}

/** For each record the index after its last annotation; null when they do not all fit. */
function place(
  stamps: readonly Uint8Array[],
  tals: readonly Uint8Array[],
  home: readonly number[],
  bytesPerRecord: number,
): Int32Array | null {
  const after = new Int32Array(stamps.length);
  let next = 0;
  for (let r = 0; r < stamps.length; r++) {
    let room = bytesPerRecord - stamps[r]!.length;
    if (room < 0) return null;
    while (next < tals.length && home[next]! <= r && tals[next]!.length <= room) room -= tals[next++]!.length;
    after[r] = next;
  }
  return next === tals.length ? after : null;
}

function fill(
  stamps: readonly Uint8Array[],
  tals: readonly Uint8Array[],
  after: Int32Array,
  record: number,
  bytesPerRecord: number,
): Uint8Array {
  const out = new Uint8Array(bytesPerRecord);
  out.set(stamps[record]!);
  let at = stamps[record]!.length;
  for (let i = record === 0 ? 0 : after[record - 1]!; i < after[record]!; i++) {
    out.set(tals[i]!, at);
    at += tals[i]!.length;
  }
  return out;
}
