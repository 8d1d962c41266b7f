import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { arraySamples, memorySink } from '../../../../src/formats/bytes/memory-sink';
import { bytesSource } from '../../../../src/formats/bytes/source';
import { FormatError } from '../../../../src/formats/format-error';
import { ishneChecksum } from '../../../../src/formats/ishne/header';
import { readIshne } from '../../../../src/formats/ishne/reader';
import { ishneBytes } from '../../../../src/formats/ishne/writer';
import { sniff } from '../../../../src/formats/open';
import { lead, recordingWith, wave } from '../edf/fixtures';

const folder = join(import.meta.dirname, '../../../reference/ishne');
const example = new Uint8Array(readFileSync(join(folder, 'example.ecg')));
const values = JSON.parse(readFileSync(join(folder, 'values.json'), 'utf8'));
const read = async (bytes: Uint8Array) => {
  const sink = memorySink();
  return { opened: await readIshne(bytesSource('day.ecg', bytes), sink), sink };
};

// source: tests/reference/ishne/make.py, which writes the layout with Python's struct and CRC
describe('a file by another writer', () => {
  test('is known by its beginning and has its values, names, start and scale', async () => {
    expect(await sniff(bytesSource('x', example))).toMatchObject({ format: 'ishne', confidence: 'certain' });
    const { opened, sink } = await read(example);
    expect(opened.recording).toMatchObject({
      recorder: 'adhesive logger',
      samplingRateHz: values.rate,
      sampleCount: 500,
      startedAt: '2026-03-14T08:30:07',
      source: 'day.ecg (ISHNE 1.0)',
    });
    expect(opened.recording.leads.map(l => [l.name, l.mvPerUnit])).toEqual([
      ['II', 0.0025],
      ['V5', 0.001],
    ]);
    for (const [i, { words }] of values.leads.entries()) expect([...sink.lead(i)]).toEqual(words);
    expect(opened.warnings).toEqual([]);
    expect(opened.understood).toContain('The recorder’s own word on its leads: II: good, V5: frequent noise.');
  });

  test('hands on nobody’s name, code, sex or birth date', async () => {
    const { opened } = await read(example);
    expect(opened.dropped).toEqual(['patient name', 'patient code', 'sex', 'birth date']);
    expect(JSON.stringify(opened)).not.toMatch(/Lunteer|V07|1990/);
  });
});

test('the checksum is that of CCITT', () => {
  // source: the check value of CRC-16 with polynomial 0x1021 begun with all ones, common practice
  expect(ishneChecksum(new TextEncoder().encode('123456789'))).toBe(0x29b1);
});

test('what is written is read back, word for word', async () => {
  const leads = [lead('II', 250, 5125), lead('chest', 250, 5125, { offset: 12, mvPerUnit: 0.000_5 })];
  const recording = recordingWith(leads, { startedAt: '2026-03-14T23:59:58' });
  const words = leads.map((l, i) => wave(l.sampleCount, i + 1));
  const { opened, sink } = await read(await ishneBytes(recording, words.map(arraySamples)));
  expect(opened.recording).toMatchObject({
    startedAt: recording.startedAt,
    recorder: 'adhesive logger',
    sampleCount: 5125,
  });
  expect(opened.recording.leads.map(l => [l.name, l.mvPerUnit, l.offset])).toEqual([
    ['II', 0.005, 0],
    ['lead 2', 0.0005, 0],
  ]);
  expect(sink.lead(0)).toEqual(words[0]);
  expect(sink.lead(1)).toEqual(words[1]!.map(w => w - 12));
  expect([opened.warnings, opened.dropped]).toEqual([[], []]);
});

test('damage to the header or the end is reported; a header that cannot be is refused', async () => {
  const changed = example.slice();
  changed[240]! ^= 1;
  expect((await read(changed)).opened.warnings).toEqual([
    'The checksum of the header does not fit: something in it was changed or damaged.',
  ]);
  expect((await read(example.subarray(0, 1002))).opened.warnings).toEqual([
    'The last 3 bytes are no whole row of 2 words and are left out.',
    'The header promises 500 samples, 114 of each lead are there.',
  ]);
  const with16 = (at: number, value: number) => {
    const bytes = example.slice();
    new DataView(bytes.buffer).setInt16(at, value, true);
    return bytes;
  };
  for (const [bytes, words] of [
    [example.subarray(0, 300), /byte 300: its header has 522 bytes/],
    [with16(156, 13), /it has 13 leads/],
    [with16(272, 0), /its sampling rate is 0 Hz/],
    [with16(24, 0x7fff), /its ECG begins at byte/],
  ] as const) {
    await expect(read(bytes)).rejects.toBeInstanceOf(FormatError);
    await expect(read(bytes)).rejects.toThrow(words);
  }
});

test('what the format cannot hold is refused by what it is', async () => {
  const samples = [arraySamples(new Int16Array(10))];
  const refused = (change: Parameters<typeof lead>[3], words = samples) =>
    ishneBytes(recordingWith([lead('II', 250, 10, change)]), words);
  await expect(refused({ mvPerUnit: 1 })).rejects.toThrow(/whole nV a unit/);
  const twoRates = recordingWith([lead('II', 250, 10)], { samplingRateHz: 500 });
  await expect(ishneBytes(twoRates, samples)).rejects.toThrow(/leads of one rate/);
  await expect(refused({}, [arraySamples(Int32Array.from({ length: 10 }, () => 40_000))])).rejects.toThrow(
    /does not fit/,
  );
});
