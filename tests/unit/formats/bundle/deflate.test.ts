import { inflateRawSync } from 'node:zlib';
import { Deflate } from 'fflate';
import { describe, expect, test } from 'vitest';
import { randomFrom } from '../../../../src/core/random';
import { bytesSource } from '../../../../src/formats/bytes/source';
import { readZipDirectory } from '../../../../src/formats/zip/directory';
import { joinBytes, ZipWriter } from '../../../../src/formats/zip/writer';

/** Words that wander as a quiet ECG does: many near repeats, which deflate turns into back-references. */
function wandering(seed: number, words: number): Uint8Array {
  const random = randomFrom(seed);
  const out = new Int16Array(words);
  for (let i = 1; i < words; i++) out[i] = out[i - 1]! + Math.round(random.normal() * 2);
  return new Uint8Array(out.buffer);
}

function streamedByFflate(bytes: Uint8Array): Uint8Array {
  const parts: Uint8Array[] = [];
  const stream = new Deflate({ level: 6 }, part => void parts.push(part.slice()));
  stream.push(bytes.slice(), true);
  return joinBytes(parts);
}

const readable = (packed: Uint8Array, bytes: Uint8Array) => {
  try {
    return Buffer.compare(inflateRawSync(packed), Buffer.from(bytes)) === 0;
  } catch {
    return false;
  }
};

describe('what a bundle deflates', () => {
  const inputs = Array.from({ length: 60 }, (_, seed) => wandering(seed, 4000 + 517 * seed));

  // Source of the independent inflate: zlib as it comes with Node.
  test('is read back by zlib, byte for byte', async () => {
    for (const bytes of inputs) {
      const zip = new ZipWriter();
      zip.add('words.i16', bytes);
      zip.end();
      const whole = joinBytes(zip.take());
      const [entry] = await readZipDirectory(bytesSource('x.zip', whole));
      const start = entry!.headerOffset + 30 + entry!.path.length;
      expect(readable(whole.subarray(start, start + entry!.packedBytes), bytes)).toBe(true);
    }
  });

  test('would not be with the streaming deflate of fflate: the inputs are of the kind it gets wrong', () => {
    expect(inputs.filter(bytes => !readable(streamedByFflate(bytes), bytes)).length).toBeGreaterThan(0);
  });
});
