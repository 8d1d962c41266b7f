import { describe, expect, test } from 'vitest';
import { memorySink } from '../../../../src/formats/bytes/memory-sink';
import { bytesSource } from '../../../../src/formats/bytes/source';
import { readEdf } from '../../../../src/formats/edf/reader';
import { FormatError } from '../../../../src/formats/format-error';
import { sniff } from '../../../../src/formats/open';

/** One record a second of four samples, and an annotation channel. Source: BioSemi's description of BDF, as EDF with 3 bytes. */
function bdf(records: readonly (readonly number[])[], onsets: readonly number[], kind: string): Uint8Array {
  const channelSamples = 10;
  const signals = [
    ['ECG', '', 'uV', '-262144', '262143', '-8388608', '8388607', '', '4', ''],
    ['BDF Annotations', '', '', '-1', '1', '-8388608', '8388607', '', String(channelSamples), ''],
  ];
  const widths = [16, 80, 8, 8, 8, 8, 8, 80, 8, 32];
  const main = [
    'X X X X',
    'Startdate 14-MAR-2026 X X X',
    '14.03.26',
    '08.30.00',
    '768',
    kind,
    String(records.length),
    '1',
    '2',
  ];
  const mainWidths = [80, 80, 8, 8, 8, 44, 8, 8, 4];
  const text =
    main.map((t, i) => t.padEnd(mainWidths[i]!)).join('') +
    widths.map((w, f) => signals.map(s => s[f]!.padEnd(w)).join('')).join('');
  const data = records.flatMap((samples, r) => {
    const annotation = new TextEncoder().encode(`+${onsets[r]}\x14\x14\0`);
    const channel = [...annotation, ...new Array(3 * channelSamples - annotation.length).fill(0)];
    return [...samples.flatMap(v => [v & 0xff, (v >> 8) & 0xff, (v >> 16) & 0xff]), ...channel];
  });
  return Uint8Array.from([0xff, ...new TextEncoder().encode(`BIOSEMI${text}`), ...data]);
}

const records = [
  [0, 1, -1, 8_388_607],
  [-8_388_608, 100_000, -100_000, 32_768],
];

describe('BDF and BDF+', () => {
  test('keep every one of 24 bits', async () => {
    const source = bytesSource('day.bdf', bdf(records, [0, 1], 'BDF+C'));
    expect((await sniff(source)).format).toBe('edf');
    const sink = memorySink();
    const { recording, warnings, understood } = await readEdf(source, {}, sink);
    expect([...sink.lead(0)]).toEqual(records.flat());
    expect(recording).toMatchObject({ samplingRateHz: 4, sampleCount: 8, startedAt: '2026-03-14T08:30:00', gaps: [] });
    expect(recording.leads[0]).toMatchObject({ name: 'ECG', format: 'int32', fileUnit: 'uV' });
    // 262143 + 262144 uV over 2^24 - 1 steps: 1/32 uV
    expect(recording.leads[0]!.mvPerUnit).toBeCloseTo(0.001 / 32, 9);
    expect(recording.source).toBe('day.bdf (BDF+C)');
    expect(understood[0]).toBe('BDF+C, 2 data records of 1 s.');
    expect(warnings).toEqual([]);
  });

  test('keep gaps', async () => {
    const sink = memorySink();
    const { recording } = await readEdf(bytesSource('day.bdf', bdf(records, [0, 3], 'BDF+D')), {}, sink);
    expect(recording.gaps).toEqual([{ start: 4, end: 12 }]);
    expect(recording.leads[0]).toMatchObject({ sampleCount: 16, unrecorded: [{ start: 4, end: 12 }] });
    expect([...sink.lead(0)]).toEqual([...records[0]!, ...records[1]!]);
  });

  test('a cut record is left out', async () => {
    const bytes = bdf(records, [0, 1], 'BDF+C');
    const { recording, warnings } = await readEdf(bytesSource('day.bdf', bytes.subarray(0, -1)), {}, memorySink());
    expect(recording.sampleCount).toBe(4);
    expect(warnings[0]).toContain('promises 2 data records, 1 are there whole');
  });
});

// source: the formats' own first bytes
test.each([
  ['GDF 2.20', 'this is GDF 2.20, which is not read. Convert it to EDF+ first.'],
  ['\x89HDF\r\n', 'this is HDF5, which is not read. Convert it to text or EDF+ first.'],
  ['ANN  1.0', 'this is ISHNE annotations, which is not read. Convert it to EDF+ first.'],
])('%j is refused by name', async (begins, message) => {
  const bytes = Uint8Array.from({ length: 600 }, (_, i) => (i < begins.length ? begins.charCodeAt(i) : i % 251));
  const refused = sniff(bytesSource('day.dat', bytes));
  await expect(refused).rejects.toBeInstanceOf(FormatError);
  await expect(refused).rejects.toThrow(message);
});
