import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { memorySink } from '../../../../src/formats/bytes/memory-sink';
import { bytesSource } from '../../../../src/formats/bytes/source';
import { FormatError } from '../../../../src/formats/format-error';
import { inflated, sniff } from '../../../../src/formats/open';
import { previewText } from '../../../../src/formats/text/layout';
import { previewMarks, readMarks } from '../../../../src/formats/text/marks';
import { readTextSignal } from '../../../../src/formats/text/signal';

// source: tests/reference/arrays: written by NumPy, SciPy and DuckDB (make.py, parquet.sql), which say the values
const folder = join(import.meta.dirname, '../../../reference/arrays');
const bytesOf = (name: string) => new Uint8Array(readFileSync(join(folder, name)));
const one = Array.from({ length: 400 }, (_, i) => ((37 * i * i) % 401) - 200);
const two = Array.from({ length: 400 }, (_, i) => ((53 * i * i) % 401) - 200);

async function opened(name: string, ask: { rate?: number; unit?: string; variables?: string[] } = {}) {
  const source = await inflated(bytesSource(name, bytesOf(name)), {}, ask.variables);
  expect((await sniff(source)).format).toBe('text-signal');
  const layout = await previewText(source, ask.unit ? { unit: ask.unit } : {});
  const sink = memorySink();
  const asked = ask.rate ? { ...layout, samplingRateHz: ask.rate } : layout;
  const read = await readTextSignal(source, asked, sink);
  const uV = read.recording.leads.map((lead, i) =>
    Array.from(sink.lead(i), w => Math.round((w - lead.offset) * lead.mvPerUnit * 1e6) / 1e3),
  );
  return { layout, uV, recording: read.recording, said: [...layout.understood, ...layout.doubts].join(' ') };
}

describe('files of arrays', () => {
  test.each([
    ['one-float32.npy', [one]],
    ['both-float64.npy', [one, two]],
    ['both-int16-big-endian-by-column.npy', [one, two]],
    ['leads-in-rows.npy', [one, two]],
    ['half.npy', [one]],
  ])('%s: values as NumPy wrote them; rate and unit are asked', async (name, leads) => {
    const bare = await previewText(await inflated(bytesSource(name, bytesOf(name))));
    expect(bare.samplingRateHz).toBeNull();
    const unit = /int16|rows/.test(name) ? 'uV' : 'mV';
    const { uV, recording } = await opened(name, { rate: 250, unit });
    const scaled = name === 'half.npy' ? leads.map(l => l.map(v => (1000 * v) / 8)) : leads;
    expect(uV).toEqual(scaled);
    expect(recording).toMatchObject({ samplingRateHz: 250, sampleCount: 400, source: `${name} (NumPy array)` });
  });

  test('a record array has columns with names, and a time', async () => {
    const { uV, recording } = await opened('record.npy');
    expect(uV).toEqual([one]);
    expect(recording.samplingRateHz).toBe(250);
  });

  test('.npz: arrays of one length are columns, a number called fs is the rate, others are reported', async () => {
    const { uV, recording, said } = await opened('plain.npz');
    expect(uV).toEqual([one]);
    expect(recording.samplingRateHz).toBe(250);
    expect(said).toContain('fs says the sampling rate: 250 Hz.');
    expect(said).toContain('r_peaks (10 x 1 int64) has another length and is left out.');
    expect((await opened('compressed.npz')).uV).toEqual([two.map((_, i) => one[i]!), two]);
  });

  test.each(['plain.mat', 'compressed.mat'])('%s: leads in rows, rate, and what is left out', async name => {
    const { uV, recording, said } = await opened(name);
    expect(uV).toEqual([one, two]);
    expect(recording.leads.map(l => l.name)).toEqual(['ecg_uV 1', 'ecg_uV 2']);
    expect(recording).toMatchObject({ samplingRateHz: 250, source: `${name} (MAT-file)` });
    for (const what of ['r_peaks (10 x 1 int64)', 'name is text', 'parts is a cell array', 'z has complex numbers'])
      expect(said).toContain(what);
  });

  test('fields of a structure are variables', async () => {
    const { uV, recording } = await opened('structure.mat');
    expect(uV).toEqual([one]);
    expect(recording).toMatchObject({ samplingRateHz: 250, leads: [{ name: 'data.ecg' }] });
  });

  test('a variable that is named is taken, also a list of marks', async () => {
    const source = await inflated(bytesSource('plain.mat', bytesOf('plain.mat')), {}, ['r_peaks']);
    expect((await sniff(source)).format).toBe('text-marks');
    const clock = { samplingRateHz: 250, sampleCount: 400, startedAt: null };
    const { marks } = await readMarks(source, await previewMarks(source, clock), clock);
    expect([...marks]).toEqual(Array.from({ length: 10 }, (_, i) => 40 * i + 3));
    const wrong = inflated(bytesSource('plain.mat', bytesOf('plain.mat')), {}, ['ecg']);
    await expect(wrong).rejects.toThrow(/there is no ecg\. There are: .*ecg_uV/);
  });

  test.each([
    ['snappy.parquet', null, undefined],
    ['gzip.parquet', '2026-03-14T08:30:00', undefined],
    ['uncompressed.parquet', '2026-03-14T08:30:00', 0],
  ])('%s: columns, times to the microsecond, and their zone', async (name, startedAt, zone) => {
    const { uV, recording, said } = await opened(name);
    expect(uV).toEqual([one, two]);
    expect(recording).toMatchObject({ samplingRateHz: 250, startedAt, gaps: [], source: `${name} (Parquet)` });
    expect(recording.utcOffsetMinutes).toBe(zone);
    expect(said.includes('list, which is a list or a structure')).toBe(zone === 0);
  });

  test('empty cells of Parquet are a stretch without signal', async () => {
    const { recording } = await opened('gaps.parquet');
    expect(recording.gaps).toEqual([{ start: 100, end: 150 }]);
  });
});

describe('what is not read', () => {
  const failure = async (name: string, bytes: Uint8Array) => {
    const source = bytesSource(name, bytes);
    return inflated(source)
      .then(sniff)
      .then(
        () => null,
        (error: unknown) => error,
      );
  };

  test('is refused by name, with what to do', async () => {
    const text = (words: string) => new TextEncoder().encode(words.padEnd(600, ' '));
    const said = async (name: string, bytes: Uint8Array) => String((await failure(name, bytes)) as Error);
    expect(await said('z.parquet', bytesOf('zstd.parquet'))).toMatch(/compressed with ZSTD\. Save it with Snappy/);
    expect(await said('t.npy', bytesOf('text.npy'))).toMatch(/it holds <U1 items.*Save it as floats or integers/);
    expect(await said('n.mat', text('MATLAB 7.3 MAT-file, Platform: GLNXA64'))).toMatch(
      /MAT-file 7\.3.*level 5 \(save with -v7\)/,
    );
    expect(await said('x.gdf', text('GDF 2.20'))).toMatch(
      /this is GDF 2\.20, which is not read\. Convert it to EDF\+ first/,
    );
    expect(await said('x.h5', Uint8Array.from([0x89, 0x48, 0x44, 0x46, 13, 10, 26, 10, ...text('')]))).toMatch(
      /this is HDF5/,
    );
  });

  test.each(['one-float32.npy', 'plain.npz', 'compressed.mat', 'snappy.parquet'])(
    '%s cut off anywhere gives a FormatError or nothing known',
    async name => {
      const bytes = bytesOf(name);
      for (let end = 12; end < bytes.length; end += Math.ceil(bytes.length / 40)) {
        const error = await failure(name, bytes.subarray(0, end));
        if (error !== null) expect(error).toBeInstanceOf(FormatError);
        // A cut MAT-file may end between two variables.
        if (!name.endsWith('.mat') && !name.endsWith('.npz')) expect(error).not.toBeNull();
      }
    },
  );
});
