import { expect, test } from 'vitest';
import type { ByteSource } from '../../../src/formats/bytes/source';
import { readAhead } from '../../../src/workers/read-ahead';

const bytes = Uint8Array.from({ length: 3_000_000 }, (_, i) => (i * 31) % 251);

function counted(): { source: ByteSource; reads: [number, number][] } {
  const reads: [number, number][] = [];
  const read = async (start: number, end: number) => {
    reads.push([start, end]);
    return bytes.slice(start, end);
  };
  return { source: { name: 'a.bin', size: bytes.length, read }, reads };
}

// source: the plain array
test('gives the bytes asked for in any order, fetching each once when read in sequence', async () => {
  const { source, reads } = counted();
  const ahead = readAhead(source);
  const step = 700_000;
  for (let at = 0; at < bytes.length; at += step) {
    expect(Buffer.compare(await ahead.read(at, at + step), bytes.subarray(at, at + step))).toBe(0);
  }
  expect(reads.map(([start]) => start)).toEqual([0, 700_000, 1_400_000, 2_100_000, 2_800_000]);
  for (const [start, end] of [
    [5, 10],
    [1_000_000, 1_600_000],
    [1_600_000, 1_600_100],
    [2_999_990, 4_000_000],
    [0, 0],
  ] as const) {
    expect(Buffer.compare(await ahead.read(start, end), bytes.subarray(start, end))).toBe(0);
  }
});
