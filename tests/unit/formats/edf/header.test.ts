import { expect, test } from 'vitest';
import { memorySink } from '../../../../src/formats/bytes/memory-sink';
import { bytesSource } from '../../../../src/formats/bytes/source';
import { readEdfHeader, signalFields } from '../../../../src/formats/edf/header';
import { readEdf } from '../../../../src/formats/edf/reader';
import { edfBytes } from '../../../../src/formats/edf/writer';
import { sniff } from '../../../../src/formats/open';
import { lead, nullSink, onTimeLine, recordingWith, sampleContent } from './fixtures';

const ascii = (bytes: Uint8Array, at: number, width: number) => String.fromCharCode(...bytes.subarray(at, at + width));

// source: Kemp et al. 1992, table of the header record: 8, 80, 80, 8, 8, 8, 44, 8, 8, 4 bytes, then per signal 16, 80, 8, 8, 8, 8, 8, 80, 8, 32
test('every header field is where the standard puts it', async () => {
  const bytes = await edfBytes(sampleContent());
  expect(ascii(bytes, 0, 8)).toBe('0       ');
  expect(ascii(bytes, 8, 80)).toBe('V01 X X X'.padEnd(80));
  expect(ascii(bytes, 88, 80)).toBe('Startdate 14-MAR-2026 X X adhesive_logger'.padEnd(80));
  expect(ascii(bytes, 168, 16)).toBe('14.03.2608.30.00');
  expect(ascii(bytes, 184, 8)).toBe('1024    ');
  expect(ascii(bytes, 192, 44)).toBe('EDF+C'.padEnd(44));
  expect(ascii(bytes, 236, 8)).toBe('21      ');
  expect(ascii(bytes, 244, 8)).toBe('1       ');
  expect(ascii(bytes, 252, 4)).toBe('3   ');
  expect(signalFields.map(([, width]) => width)).toEqual([16, 80, 8, 8, 8, 8, 8, 80, 8, 32]);
  expect(ascii(bytes, 256, 48)).toBe('ECG             ECG low         EDF Annotations ');
  expect(ascii(bytes, 256 + 3 * 96, 24)).toBe('mV      mV              ');
  expect(ascii(bytes, 256 + 3 * 104, 24)).toBe('-163.84 -80.0293-1      ');
  expect(ascii(bytes, 256 + 3 * 216, 24)).toBe('250     125     32      ');
});

test('a recording without a start carries the anonymous date of EDF+', async () => {
  // source: Kemp & Olivan 2003, 2.1.3.3: unknown start is 'Startdate X' with the clipping date 01.01.85
  const content = sampleContent();
  const bytes = await edfBytes({ ...content, recording: { ...content.recording, startedAt: null } });
  expect(ascii(bytes, 88, 11)).toBe('Startdate X');
  expect(ascii(bytes, 168, 16)).toBe('01.01.8500.00.00');
  expect((await readEdfHeader(bytesSource('x', bytes))).startedAt).toBeNull();
});

/** One ordinary signal and one annotation channel, by hand. */
function motorNerve(): Uint8Array {
  const pad = (text: string, width: number) => text.padEnd(width);
  const head = [
    ['0', 8],
    ['MCH-0234567 F 02-MAY-1951 Haagse_Harry', 80],
    ['Startdate 02-MAR-2002 EMG561 BK/JOP Sony. MNC R Median Nerve.', 80],
    ['17.04.01', 8],
    ['11.25.00', 8],
    ['768', 8],
    ['EDF+D', 44],
    ['2', 8],
    ['0.050', 8],
    ['2', 4],
  ] as const;
  const signals = [
    ['R APB', 'EDF Annotations', 16],
    ['AgAgCl electrodes', '', 80],
    ['mV', '', 8],
    ['-100', '-1', 8],
    ['100', '1', 8],
    ['-2048', '-32768', 8],
    ['2047', '32767', 8],
    ['HP:3Hz LP:20kHz', '', 80],
    ['1000', '60', 8],
    ['', '', 32],
  ] as const;
  const text = head.map(([t, w]) => pad(t, w)).join('') + signals.map(([a, b, w]) => pad(a, w) + pad(b, w)).join('');
  const bytes = new Uint8Array(768 + 2 * 2120);
  bytes.set(new TextEncoder().encode(text));
  const words = new Int16Array(bytes.buffer);
  for (let i = 0; i < 1000; i++) {
    words[384 + i] = i - 2048;
    words[384 + 1060 + i] = 2047 - i;
  }
  bytes.set(new TextEncoder().encode('+0\x14\x14\0+0\x14Stimulus_elbow\x14\0'), 768 + 2000);
  bytes.set(new TextEncoder().encode('+10\x14\x14\0+10\x14Stimulus_wrist\x14\0'), 768 + 2120 + 2000);
  return bytes;
}

test('the worked example of a nerve conduction file reads with its gap', async () => {
  // source: Kemp & Olivan 2003, worked header of a motor nerve conduction study (fields from memory)
  const sink = memorySink();
  const opened = await readEdf(bytesSource('emg', motorNerve()), {}, sink);
  const [apb] = opened.recording.leads;
  expect(opened.header.kind).toBe('EDF+D');
  expect(opened.recording.startedAt).toBe('2002-03-02T11:25:00');
  expect(apb).toMatchObject({ name: 'R APB', samplingRateHz: 20000, sampleCount: 201000, fileUnit: 'mV' });
  expect(apb!.mvPerUnit).toBeCloseTo(200 / 4095, 12);
  expect((-2048 - apb!.offset) * apb!.mvPerUnit).toBeCloseTo(-100, 9);
  expect((2047 - apb!.offset) * apb!.mvPerUnit).toBeCloseTo(100, 9);
  expect(opened.recording.gaps).toEqual([{ start: 1000, end: 200000 }]);
  expect(apb!.unrecorded).toEqual([{ start: 1000, end: 200000 }]);
  const words = onTimeLine(sink, apb!, 0);
  expect([words[999], words[1000], words[199999], words[200000]]).toEqual([-1049, 0, 0, 2047]);
  expect(sink.lead(0)).toHaveLength(2000);
  expect(opened.annotations).toEqual([
    { onsetSeconds: 0, durationSeconds: null, text: 'Stimulus_elbow' },
    { onsetSeconds: 10, durationSeconds: null, text: 'Stimulus_wrist' },
  ]);
  expect(opened.dropped).toEqual(['patient code', 'sex', 'birth date', 'patient name', 'admission code', 'technician']);
  expect(opened.patient).toBeNull();
  expect(JSON.stringify(opened.recording)).not.toMatch(/Haagse|0234567|EMG561|BK/);
  const kept = await readEdf(bytesSource('emg', motorNerve()), { keepPatient: true }, nullSink);
  expect(kept.patient).toBe('MCH-0234567 F 02-MAY-1951 Haagse_Harry');
  expect(kept.dropped).toEqual([]);
});

test.each([
  ['uV', 1000, 0.005],
  ['µV', 1000, 0.005],
  ['mV', 1, 0.005],
  ['V', 0.001, 0.005],
])('physical range in %s gives mV per unit by the header', async (unit, factor, expected) => {
  // source: Kemp et al. 1992: gain = (physical max - physical min) / (digital max - digital min); 1 mV = 1000 uV
  const bytes = await edfBytes({
    recording: recordingWith([lead('ECG', 100, 100)]),
    leads: [{ sampleCount: 100, read: () => new Int16Array(100) }],
    annotations: [],
  });
  const put = (at: number, text: string) =>
    bytes.set(
      Uint8Array.from(text.padEnd(8), c => c.charCodeAt(0)),
      at,
    );
  put(256 + 2 * 96, unit);
  put(256 + 2 * 104, String(-163.84 * factor).slice(0, 8));
  put(256 + 2 * 112, String(163.835 * factor).slice(0, 8));
  const { recording } = await readEdf(bytesSource('x', bytes), {}, nullSink);
  expect(recording.leads[0]!.mvPerUnit).toBeCloseTo(expected, 6);
  expect(recording.leads[0]!.fileUnit).toBe(unit);
});

test.each([9, 90, 176, 255])('a file cut inside its first header, at byte %i, is named as a cut EDF', async length => {
  const source = bytesSource('V01.edf', (await edfBytes(sampleContent())).subarray(0, length));
  expect(await sniff(source)).toMatchObject({ format: 'edf', confidence: 'certain' });
  await expect(readEdfHeader(source)).rejects.toThrow(
    `V01.edf (EDF), byte 0: the file has ${length} bytes; a header needs 256. The file is cut off: copy it again.`,
  );
});

test('a short text that begins with 0 is no EDF', async () => {
  const text = (of: string) => bytesSource('x', new TextEncoder().encode(of));
  expect((await sniff(text('0       0.11\n0.004   0.12\n0.008   0.10\n'))).format).toBe('text-signal');
  expect((await sniff(text('0\n190\n391\n'))).format).toBe('text-marks');
});
