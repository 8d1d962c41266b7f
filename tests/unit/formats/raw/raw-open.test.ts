import { gzipSync } from 'node:zlib';
import fc from 'fast-check';
import { zipSync } from 'fflate';
import { describe, expect, test } from 'vitest';
import { gunzipSource } from '../../../../src/formats/bytes/gunzip';
import { memorySink } from '../../../../src/formats/bytes/memory-sink';
import { bytesSource, fileSource } from '../../../../src/formats/bytes/source';
import { edfBytes } from '../../../../src/formats/edf/writer';
import { inflated, sniff } from '../../../../src/formats/open';
import type { RawLayout } from '../../../../src/formats/raw/raw';
import { rawBytes, readRaw } from '../../../../src/formats/raw/raw';
import { sameWords, sampleContent, wave } from '../edf/fixtures';

const layout: RawLayout = {
  encoding: 'int16',
  littleEndian: true,
  samplingRateHz: 250,
  leads: ['I', 'II'],
  unitsPerMv: 200,
  offset: 1024,
  headerBytes: 0,
};
const open = (bytes: Uint8Array, change: Partial<RawLayout> = {}, sink = memorySink()) =>
  readRaw(bytesSource('x', bytes), { ...layout, ...change }, sink);

describe('raw words', () => {
  test('a worked row: little and big endian, 24 bits, header and scale', async () => {
    const bytes = Uint8Array.from([9, 9, 9, 0x01, 0x02, 0x80, 0xff, 0xff, 0xff]);
    const sink = memorySink();
    const { recording } = await open(bytes, { encoding: 'int24', littleEndian: false, headerBytes: 3 }, sink);
    expect([sink.lead(0)[0], sink.lead(1)[0]]).toEqual([0x010280, -1]);
    expect(recording.leads[0]).toMatchObject({ format: 'int32', mvPerUnit: 1 / 200, offset: 1024, sampleCount: 1 });
    const little = memorySink();
    await open(bytes, { encoding: 'int24', headerBytes: 3 }, little);
    expect(little.lead(0)[0]).toBe(0x800201 - 0x1000000);
  });

  test('every encoding comes back', async () => {
    const arbitrary = fc.record({
      encoding: fc.constantFrom('int16' as const, 'int24' as const, 'int32' as const, 'float32' as const),
      littleEndian: fc.boolean(),
      leads: fc.integer({ min: 1, max: 4 }),
      rows: fc.integer({ min: 1, max: 50 }),
      seed: fc.integer({ min: 0, max: 99 }),
    });
    await fc.assert(
      fc.asyncProperty(arbitrary, async c => {
        const words = Array.from({ length: c.leads }, (_, i) => wave(c.rows, c.seed + i));
        const bytes = rawBytes(words, c.encoding, c.littleEndian);
        const sink = memorySink();
        await open(bytes, { ...c, leads: words.map((_, i) => `lead ${i}`) }, sink);
        for (const [i, w] of words.entries()) expect([...sink.lead(i)]).toEqual([...w]);
        expect(
          rawBytes(
            words.map((_, i) => sink.lead(i)),
            c.encoding,
            c.littleEndian,
          ),
        ).toEqual(bytes);
      }),
      { numRuns: 200, seed: 3 },
    );
  });

  test('blocks join without a seam, a part of a row is left out', async () => {
    const words = [wave(1_500_000, 1), wave(1_500_000, 2)];
    const whole = rawBytes(words, 'int16', true);
    const bytes = new Uint8Array(whole.length + 3);
    bytes.set(whole);
    const sink = memorySink();
    const { warnings } = await open(bytes, {}, sink);
    expect(sameWords(sink.lead(1), words[1])).toBe(true);
    expect(warnings).toEqual(['The last 3 bytes are no whole row of 2 words and are left out.']);
  });

  test('words that are no numbers are reported', async () => {
    const sink = memorySink();
    const { warnings } = await open(
      rawBytes([Float32Array.of(1, Number.NaN, 3)], 'float32', true),
      { encoding: 'float32', leads: ['I'], offset: 0 },
      sink,
    );
    expect([...sink.lead(0)]).toEqual([1, 0, 3]);
    expect(warnings).toEqual(['1 words are no numbers and are read as 0 mV.']);
  });

  test('a header and a part of a row at the end are told from the rows between', async () => {
    const sink = memorySink();
    const bytes = Uint8Array.from([9, 9, 9, 1, 0, 2, 0, 3, 0, 4, 0, 5]);
    const { recording, warnings, understood } = await open(bytes, { headerBytes: 3 }, sink);
    expect(recording.sampleCount).toBe(2);
    expect([[...sink.lead(0)], [...sink.lead(1)]]).toEqual([
      [1, 3],
      [2, 4],
    ]);
    expect(warnings).toEqual(['The last 1 bytes are no whole row of 2 words and are left out.']);
    expect(understood).toEqual(['int16, little-endian, 2 leads, 2 samples each.']);
  });

  test('one row behind the header is enough, and may last a year', async () => {
    const longest = { headerBytes: 36, samplingRateHz: 1 / (366 * 86_400) };
    expect((await open(new Uint8Array(40), longest)).recording.sampleCount).toBe(1);
    await expect(open(new Uint8Array(39), longest)).rejects.toThrow('no sample lies behind the header');
    await expect(open(new Uint8Array(44), longest)).rejects.toThrow('would be 732.0 days long');
  });

  test('a file that ends earlier than it said is refused with the place', async () => {
    const cut = { ...bytesSource('x', new Uint8Array(10)), size: 40 };
    await expect(readRaw(cut, { ...layout, headerBytes: 4 }, memorySink())).rejects.toThrow(
      'x (raw), byte 4: the file ends early. Copy it again.',
    );
  });

  test('words beyond 24 bits are not written as others', () => {
    const one = (word: number) => rawBytes([Int32Array.of(word)], 'int24', true);
    expect([...one(2 ** 23 - 1)]).toEqual([0xff, 0xff, 0x7f]);
    expect([...one(-(2 ** 23))]).toEqual([0, 0, 0x80]);
    for (const word of [2 ** 23, -(2 ** 23) - 1]) expect(() => one(word)).toThrow(RangeError);
  });

  test.each<[Partial<RawLayout>, RegExp]>([
    [{ unitsPerMv: Number.NaN }, /the gain is not known/],
    [{ offset: Number.NaN }, /the offset is no number/],
    [{ headerBytes: -1 }, /the header length is no whole number/],
    [{ headerBytes: 1.5 }, /the header length is no whole number/],
    [{ leads: Array.from({ length: 1001 }, String) }, /there are 1001 leads/],
    [{ samplingRateHz: 0 }, /the sampling rate is not known. Give it in Hz/],
    [{ samplingRateHz: Number.NaN }, /the sampling rate is not known/],
    [{ samplingRateHz: 1e6 + 1 }, /the sampling rate is not known/],
    [{ unitsPerMv: 0 }, /the gain is not known/],
    [{ leads: [] }, /there are 0 leads/],
    [{ headerBytes: 99 }, /no sample lies behind the header/],
    [{ samplingRateHz: 1e-8 }, /time line would be/],
  ])('%j is refused', async (change, message) => {
    await expect(open(new Uint8Array(40), change)).rejects.toThrow(message);
  });
});

const edf = await edfBytes(sampleContent());

describe('a file opens under a meaningless name', () => {
  const text = (t: string) => new TextEncoder().encode(t);
  const signal = Array.from(wave(300, 4), (w, i) => `${(i * 0.004).toFixed(3)},${w}`).join('\n');
  const cases: [string, Uint8Array, string][] = [
    ['EDF', edf, 'edf'],
    ['a bundle', zipSync({ 'manifest.json': text('{}') }), 'bundle'],
    ['a text signal with header', text(`time (s),ECG (uV)\n${signal}\n`), 'text-signal'],
    ['a text signal without', text(`${signal}\n`), 'text-signal'],
    ['values alone', text(wave(300, 4).join('\n')), 'text-signal'],
    ['marks with header', text('sample\n100\n300\n500\n'), 'text-marks'],
    ['marks without', text('100\n300\n500\n720\n'), 'text-marks'],
    ['times', text('0.4\n1.2\n2.05\n2.9\n'), 'text-marks'],
    ['RR intervals', text('800\n820\n790\n810\n805\n'), 'text-marks'],
    ['RR intervals with time', text('time_s,rr_ms\n0.8,800\n1.62,820\n2.41,790\n'), 'text-marks'],
    ['segments', text('name,start,end\nwatch,0,300\n'), 'text-segments'],
    ['segments without header', text('watch;08:30:00;08:35:00\nrun;08:35:00;08:40:00\n'), 'text-segments'],
    ['raw words', rawBytes([wave(500, 3)], 'int16', true), 'raw'],
  ];
  test('but not a letter, in which there is no signal', async () => {
    const letter = bytesSource('a', text('Dear reader,\nthis is a letter.\n'));
    await expect(sniff(letter)).rejects.toThrow('there is no signal in it');
  });

  test.each(cases)('%s', async (_name, bytes, format) => {
    const found = await sniff(bytesSource('a', bytes));
    expect(found.format).toBe(format);
    expect(found.why).not.toBe('');
    expect((await sniff(bytesSource('a.tmp', gzipSync(bytes)))).format).toBe(format);
  });

  test('an empty file', async () => {
    await expect(sniff(bytesSource('a', new Uint8Array()))).rejects.toThrow(/the file is empty/);
  });
});

describe('gzip', () => {
  test('inflated bytes are equal, several members joined', async () => {
    const a = new Uint8Array(wave(200_000, 1).buffer);
    const both = new Uint8Array(Buffer.concat([gzipSync(a), gzipSync(a)]));
    const source = await inflated(bytesSource('day.edf.gz', both));
    expect(source.name).toBe('day.edf');
    expect(source.size).toBe(2 * a.length);
    expect(Buffer.compare(await source.read(a.length, source.size), a)).toBe(0);
  });

  test('a large file is inflated as it is read, forwards and back', async () => {
    const big = new Uint8Array(8 * 2 ** 20);
    for (let i = 0; i < big.length; i += 4096) big[i] = (i >> 12) & 255;
    const source = await gunzipSource(bytesSource('big', gzipSync(big, { level: 1 })), {}, 2 ** 20);
    expect(source.size).toBe(big.length);
    for (const [a, b] of [
      [0, 10_000],
      [7_000_000, 7_100_000],
      [big.length - 5000, big.length + 99],
      [4096, 20_000],
    ] as const) {
      expect(Buffer.compare(await source.read(a, b), big.subarray(a, b))).toBe(0);
    }
  });

  test('a large file that does not pack is read from where it is asked, piece by piece', async () => {
    const noise = new Uint8Array(2_000_000);
    for (let i = 0, state = 7; i < noise.length; i++) {
      state = (Math.imul(state, 1_103_515_245) + 12_345) | 0;
      noise[i] = state >>> 24;
    }
    const source = await gunzipSource(bytesSource('noise', gzipSync(noise)), {}, 2 ** 18);
    expect(source.size).toBe(noise.length);
    for (const [a, b] of [
      [0, 1000],
      [500_000, 700_000],
      [600_000, 650_000],
      [650_000, 651_000],
      [1_900_000, 2_000_009],
      [10, 20],
      [1_200_000, 1_200_001],
    ] as const) {
      expect(Buffer.compare(await source.read(a, b), noise.subarray(a, b))).toBe(0);
    }
  });

  test('damage is named', async () => {
    const bytes = gzipSync(new Uint8Array(wave(20_000, 1).buffer));
    bytes.fill(0xff, 100, 400);
    await expect(gunzipSource(bytesSource('x.gz', bytes))).rejects.toThrow(
      /x.gz \(gzip\), byte 0: it is cut off or damaged \(invalid/,
    );
    await expect(
      gunzipSource(bytesSource('x.gz', gzipSync(new Uint8Array(wave(20_000, 1).buffer)).subarray(0, 5000))),
    ).rejects.toThrow(/it is cut off or damaged \(it ends too early\)/);
  });

  test('a second member is read where the first ends with a piece that was read, and padding is none', async () => {
    const member = gzipSync(
      new Uint8Array(60_000).map((_, i) => (i * 2654435761) >>> 24),
      { level: 0 },
    );
    // source: RFC 1952, section 2.3: flag 8 brings a name that ends with a zero
    const name = new Uint8Array(65_536 - member.length).fill(0x61);
    name[name.length - 1] = 0;
    const first = Buffer.concat([member.subarray(0, 10), name, member.subarray(10)]);
    first[3] = 8;
    expect(first.length).toBe(65_536);
    const file = Buffer.concat([first, member, new Uint8Array(70_000)]);
    const source = await gunzipSource(bytesSource('x.gz', new Uint8Array(file)));
    expect(source.size).toBe(120_000);
  });

  // source: RFC 1952, section 2.3.1: the last eight bytes are the CRC-32 and the length of what was packed
  test.each([
    ['checksum', 8, /incorrect data check/],
    ['length', 4, /incorrect length check/],
  ])('a whole file whose %s is another is refused', async (_what, fromEnd, why) => {
    const bytes = new Uint8Array(gzipSync(new Uint8Array(wave(20_000, 1).buffer)));
    bytes[bytes.length - fromEnd]! ^= 1;
    await expect(gunzipSource(bytesSource('x.gz', bytes))).rejects.toThrow(why);
  });
});

test('a chosen file is read from where it is asked, clipped to its size', async () => {
  const source = fileSource(new File([Uint8Array.of(1, 2, 3, 4, 5)], 'V01.edf'));
  expect(source).toMatchObject({ name: 'V01.edf', size: 5 });
  expect(await source.read(1, 3)).toEqual(Uint8Array.of(2, 3));
  expect(await source.read(3, 99)).toEqual(Uint8Array.of(4, 5));
});

test('words kept in memory are given from where they are asked, and nothing for a lead that has none', async () => {
  const sink = memorySink();
  sink.write(1, Int16Array.of(4, 5, 6));
  expect(sink.samples(1).sampleCount).toBe(3);
  expect(await sink.samples(1).read(1, 9)).toEqual(Int16Array.of(5, 6));
  expect([sink.samples(0).sampleCount, sink.samples(7).sampleCount]).toEqual([0, 0]);
});
