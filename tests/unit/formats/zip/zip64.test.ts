import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { utf8ToBytes } from '@noble/hashes/utils.js';
import { Zip, ZipPassThrough } from 'fflate';
import { describe, expect, test } from 'vitest';
import { crc32 } from '../../../../src/formats/bytes/crc32';
import { type ByteSource, bytesSource } from '../../../../src/formats/bytes/source';
import { readZipDirectory, zipLimits } from '../../../../src/formats/zip/directory';
import { entrySource, unpackWhole } from '../../../../src/formats/zip/entries';
import {
  dataDescriptor,
  directory,
  localHeader,
  type PackedEntry,
  zip64From,
} from '../../../../src/formats/zip/records';
import { joinBytes, type ZipLevel, ZipWriter } from '../../../../src/formats/zip/writer';

const contents = {
  'short.txt': utf8ToBytes('twelve beats a line\n'),
  'wörter/i16.bin': Uint8Array.from({ length: 20_000 }, (_, i) => (i * i) >> 7),
  'empty.csv': new Uint8Array(0),
};

function written(level: ZipLevel, limit?: number): Uint8Array {
  const zip = new ZipWriter(level, limit);
  for (const [path, bytes] of Object.entries(contents)) zip.add(path, bytes);
  zip.end();
  return joinBytes(zip.take());
}

async function readBack(bytes: Uint8Array): Promise<Record<string, Uint8Array>> {
  const source = bytesSource('a.zip', bytes);
  const out: Record<string, Uint8Array> = {};
  for (const entry of await readZipDirectory(source)) {
    const whole = await unpackWhole(source, entry, 1e6);
    expect(whole.sameCrc).toBe(true);
    out[entry.path] = whole.bytes;
  }
  return out;
}

test('what fits 32 bits has the bytes that another writer gives it', () => {
  // source: fflate 0.8.3, which is what earlier versions wrote with
  const parts: Uint8Array[] = [];
  const zip = new Zip((_, bytes) => void parts.push(bytes.slice()));
  for (const [path, bytes] of Object.entries(contents)) {
    const entry = new ZipPassThrough(path);
    entry.mtime = new Date(1980, 0, 1);
    zip.add(entry);
    entry.push(bytes, true);
  }
  zip.end();
  expect(Buffer.from(written(0)).equals(joinBytes(parts))).toBe(true);
});

describe.each<ZipLevel>([0, 3])('Zip64, level %i', level => {
  // 1: all sizes and places; 10,000: the sizes of one entry, the place of the next and of the directory
  test.each([1, 10_000])('from %i bytes on is read back', async limit => {
    const bytes = written(level, limit);
    expect(bytes.length).toBeGreaterThan(written(level).length);
    const back = await readBack(bytes);
    expect(Object.keys(back)).toEqual(Object.keys(contents));
    for (const [path, was] of Object.entries(contents)) expect(Buffer.compare(back[path]!, was)).toBe(0);
  });

  const python = spawnSync('python3', ['-c', 'import zipfile']).status === 0;
  test.skipIf(!python)('is read by Python’s zipfile as well', () => {
    const folder = mkdtempSync(join(tmpdir(), 'zip64-'));
    const script =
      'import sys, zipfile\nz = zipfile.ZipFile(sys.argv[1])\nassert z.testzip() is None\nprint([(i.filename, i.file_size, i.CRC) for i in z.infolist()])';
    for (const limit of [1, 10_000]) {
      writeFileSync(join(folder, 'a.zip'), written(level, limit));
      const ran = spawnSync('python3', ['-c', script, join(folder, 'a.zip')]);
      const said = Object.entries(contents).map(([path, b]) => `('${path}', ${b.length}, ${crc32(b)})`);
      expect(ran.stdout.toString().trim()).toBe(`[${said.join(', ')}]`);
    }
    rmSync(folder, { recursive: true });
  });
});

/** Bytes at places of a file that is zeros everywhere else. */
function sparse(parts: readonly (readonly [number, Uint8Array])[]): ByteSource {
  const size = Math.max(...parts.map(([at, bytes]) => at + bytes.length));
  return {
    name: 'sparse.zip',
    size,
    async read(start, end) {
      const out = new Uint8Array(Math.max(0, Math.min(end, size) - start));
      for (const [at, bytes] of parts) {
        const from = Math.max(start, at);
        const to = Math.min(end, at + bytes.length);
        if (from < to) out.set(bytes.subarray(from - at, to - at), from - start);
      }
      return out;
    },
  };
}

/** An archive of 5 GiB of zeros and a short text behind them, as the writer lays it out. */
function largeArchive() {
  const bytes = 5 * 2 ** 30;
  const path = utf8ToBytes('recordings/a/1-ECG.f32');
  const text = utf8ToBytes('sample\n150\n');
  const header = localHeader(path, 0, true);
  const lead: PackedEntry = {
    path,
    compression: 0,
    crc32: 0,
    packedBytes: bytes,
    bytes,
    headerOffset: 0,
    announced: true,
  };
  const behind = dataDescriptor(lead, zip64From);
  const at = header.length + bytes + behind.length;
  const name = utf8ToBytes('detected.csv');
  const small: PackedEntry = {
    path: name,
    compression: 0,
    crc32: crc32(text),
    packedBytes: text.length,
    bytes: text.length,
    headerOffset: at,
    announced: false,
  };
  const second = joinBytes([localHeader(name, 0, false), text, dataDescriptor(small, zip64From)]);
  const end = joinBytes(directory([lead, small], at + second.length, zip64From));
  const parts = [
    [0, header],
    [at - behind.length, behind],
    [at, second],
    [at + second.length, end],
  ] as const;
  return { source: sparse(parts), text, bytes };
}

// source: PKWARE APPNOTE 6.3, sections 4.3.9.2, 4.3.14, 4.3.15 and 4.5.3
test('an archive of more than 4 GiB: the entry behind it is found, and the large one read anywhere', async () => {
  const { source, text, bytes } = largeArchive();
  expect(source.size).toBeGreaterThan(5 * 2 ** 30);
  const [lead, marks] = await readZipDirectory(source);
  expect(lead).toMatchObject({ path: 'recordings/a/1-ECG.f32', bytes, packedBytes: bytes, headerOffset: 0 });
  expect(marks!.headerOffset).toBeGreaterThan(2 ** 32);
  expect(await unpackWhole(source, marks!, 100)).toMatchObject({ bytes: text, sameCrc: true });
  const words = await entrySource(source, lead!, 0);
  expect(words.size).toBe(bytes);
  expect(await words.read(bytes - 4, bytes + 4)).toEqual(new Uint8Array(4));
});

test('more than is read of a Zip64 archive, and a damaged Zip64 end, are refused', async () => {
  const { source } = largeArchive();
  const limits = { ...zipLimits, maxTotalBytes: 4 * 2 ** 30 };
  await expect(readZipDirectory(source, limits)).rejects.toThrow('unpacked it would be 5120 MiB');
  const bytes = written(0, 1);
  const end = bytes.length - 22 - 20 - 56;
  for (const [at, value, words] of [
    [end, 0, 'its Zip64 end is damaged'],
    [end + 16, 1, 'it is split over disks'],
    [end + 47, 0x7f, 'a size in it is beyond all files'],
    [end + 48, 9, 'the directory is not where it says'],
  ] as const) {
    const damaged = bytes.slice();
    damaged[at] = value;
    await expect(readZipDirectory(bytesSource('a.zip', damaged))).rejects.toThrow(words);
  }
});
