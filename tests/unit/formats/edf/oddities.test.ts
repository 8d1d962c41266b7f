import { describe, expect, test } from 'vitest';
import { arraySamples, memorySink } from '../../../../src/formats/bytes/memory-sink';
import type { ByteSource } from '../../../../src/formats/bytes/source';
import { bytesSource } from '../../../../src/formats/bytes/source';
import { readEdf, readEdfAnnotations } from '../../../../src/formats/edf/reader';
import { annotationsOnly, edfBytes, edfFile } from '../../../../src/formats/edf/writer';
import { FormatError } from '../../../../src/formats/format-error';
import {
  contentOf,
  lead,
  nullSink,
  patched,
  recordingWith,
  referenceGaps,
  sameWords,
  sampleContent,
  wave,
} from './fixtures';

const open = (bytes: Uint8Array, sink = memorySink()) => readEdf(bytesSource('day.bin', bytes), {}, sink);
const plain = await edfBytes(sampleContent());
const recordBytes = 2 * (250 + 125 + 32);

describe('oddities of real files', () => {
  test('labels in Latin-1', async () => {
    const opened = await open(patched(plain, 256, '\xc9KG br\xfcst'));
    expect(opened.recording.leads[0]!.name).toBe('ÉKG brüst');
  });

  test('record count -1 is counted from the size', async () => {
    const opened = await open(patched(plain, 236, '-1      '));
    expect(opened.recording.sampleCount).toBe(5125);
    expect(opened.warnings).toEqual(['The number of data records is not stated (-1); counted 21.']);
  });

  test('a short last record is left out with a warning', async () => {
    const opened = await open(plain.subarray(0, plain.length - 100));
    expect(opened.recording.sampleCount).toBe(20 * 250);
    expect(opened.warnings).toEqual(['The header promises 21 data records, 20 are there whole; those are read.']);
  });

  test('trailing garbage is left out with a warning', async () => {
    const long = new Uint8Array(plain.length + 1000).fill(77);
    long.set(plain);
    const opened = await open(long);
    expect(opened.recording.sampleCount).toBe(5125);
    expect(opened.warnings).toEqual(['1000 bytes after the last data record are left out.']);
  });

  test('numbers padded with zeros, NULs and a decimal comma', async () => {
    const opened = await open(patched(patched(patched(plain, 236, '00000021'), 244, '1,000\0\0\0'), 252, ' 3  '));
    expect(opened.recording.samplingRateHz).toBe(250);
    expect(opened.recording.sampleCount).toBe(5125);
  });

  test('a wrong header length is reported and not believed', async () => {
    const opened = await open(patched(plain, 184, '99999   '));
    expect(opened.warnings).toEqual(['The header says it is 99999 bytes long; it is 1024.']);
  });

  test('an impossible date leaves the recording without a start', async () => {
    const opened = await open(patched(patched(plain, 88, 'no date at all       '), 168, '45.13.26'));
    expect(opened.recording.startedAt).toBeNull();
    expect(opened.warnings[0]).toMatch(/45.13.26 08.30.00.*no valid date/);
  });

  test('signals that are no voltage are left out and named', async () => {
    const opened = await open(patched(plain, 256 + 3 * 96 + 8, 'degC    '));
    expect(opened.recording.leads.map(l => l.name)).toEqual(['ECG']);
    expect(opened.warnings).toEqual(['Signals that are no voltage are left out: ECG low (degC).']);
  });

  test('a signal without a scale is left out', async () => {
    const opened = await open(patched(plain, 256 + 3 * 112 + 8, '-80.0293'));
    expect(opened.recording.leads).toHaveLength(1);
    expect(opened.warnings[0]).toMatch(/^ECG low has no usable scale/);
  });
});

describe('files that cannot be read name the place', () => {
  const cases: [string, Uint8Array, RegExp][] = [
    ['no header', new Uint8Array(100), /day.bin \(EDF\), byte 0: the file has 100 bytes/],
    ['another version', patched(plain, 0, '1'), /byte 0: the version field/],
    ['a version that is neither', patched(plain, 0, '\xff'), /version field/],
    ['thousands of signals', patched(plain, 252, '9999'), /byte 252: 9999 signal headers do not fit in \d+ bytes/],
    ['no signals', patched(plain, 252, '0   '), /byte 252/],
    ['words for a number', patched(plain, 256 + 3 * 216, 'many    '), /byte 904: the samples per record is "many"/],
    ['a negative duration', patched(plain, 244, '-1      '), /byte 244: the record duration/],
    ['a duration of 0', patched(plain, 244, '0       '), /record duration is 0/],
    ['a record of years', patched(plain, 244, '99999999'), /366.0 days are read|days are read at/],
  ];
  test.each(cases)('%s', async (_name, bytes, message) => {
    await expect(open(bytes)).rejects.toThrow(message);
    await expect(open(bytes)).rejects.toBeInstanceOf(FormatError);
  });

  test('a header that claims terabytes allocates nothing', async () => {
    const claims = patched(patched(plain, 256 + 3 * 216, '99999999'), 236, '999999991000    ');
    const opened = await open(claims);
    expect(opened.recording.sampleCount).toBe(0);
    expect(opened.warnings).toEqual(['The header promises 99999999 data records, 0 are there whole; those are read.']);
  });

  test('a gap of months is refused', async () => {
    const bytes = await edfBytes(sampleContent(referenceGaps));
    const at = new TextDecoder('latin1').decode(bytes).lastIndexOf('+19.85\x14\x14');
    const sink = memorySink();
    await expect(open(patched(bytes, at, '+9999999\x14\x14\0'), sink)).rejects.toThrow(
      /data record 16: the time line would be 115.7 days/,
    );
    expect(sink.lead(0).length).toBeLessThan(5125);
  });

  test('records that run backwards are refused', async () => {
    const bytes = await edfBytes(sampleContent(referenceGaps));
    const at = new TextDecoder('latin1').decode(bytes).lastIndexOf('+19.85\x14\x14');
    await expect(open(patched(bytes, at, '+15.85\x14\x14'))).rejects.toThrow(
      /data record 16, byte \d+: it starts 4.000 s before/,
    );
  });
});

describe('streaming', () => {
  const leads = [lead('ECG', 1000, 400_000), lead('II', 250, 100_000)];
  const words = leads.map((l, i) => wave(l.sampleCount, i + 5));
  const content = { recording: recordingWith(leads), leads: words.map(arraySamples), annotations: [] };

  test('a large file is read in blocks, equal sample by sample', async () => {
    const big = {
      ...content,
      leads: content.leads.map((l, i) => ({ ...l, read: (a: number, b: number) => words[i]!.subarray(a, b) })),
    };
    const bytes = await edfBytes(big);
    const sizes: number[] = [];
    const source: ByteSource = {
      name: 'x',
      size: bytes.length,
      read: async (a, b) => {
        sizes.push(b - a);
        return bytes.subarray(a, b);
      },
    };
    const sink = memorySink();
    const progress: number[] = [];
    await readEdf(source, {}, sink, { onProgress: done => progress.push(done) });
    expect(Math.max(...sizes)).toBeLessThanOrEqual(4 * 1024 * 1024);
    expect(sameWords(sink.lead(0), words[0])).toBe(true);
    expect(sameWords(sink.lead(1), words[1])).toBe(true);
    expect(progress.at(-1)).toBe(bytes.length);
  });

  test('one record larger than a block', async () => {
    const bytes = await edfBytes(content);
    const header = bytes.slice(0, 256 * 4);
    const n = 3_000_000;
    const one = new Uint8Array(header.length + 2 * (n + 100 + 32));
    one.set(
      patched(patched(patched(header, 236, '1       '), 256 + 3 * 216, '3000000 100     32      '), 244, '3000    '),
    );
    new Int16Array(one.buffer).set(wave(n, 9), header.length / 2);
    one.set(new TextEncoder().encode('+0\x14\x14\0+2.5\x15\x31\x14late\x14\0'), header.length + 2 * (n + 100));
    const sink = memorySink();
    const opened = await open(one, sink);
    expect(sameWords(sink.lead(0), wave(n, 9))).toBe(true);
    expect(sink.lead(1)).toHaveLength(100);
    expect(opened.annotations).toEqual([{ onsetSeconds: 2.5, durationSeconds: 1, text: 'late' }]);
  });

  test('an aborted read rejects with the reason', async () => {
    const stop = new AbortController();
    stop.abort(new Error('stopped by the person'));
    await expect(readEdf(bytesSource('x', plain), {}, nullSink, { signal: stop.signal })).rejects.toThrow(
      'stopped by the person',
    );
  });
});

describe('annotations apart', () => {
  test('a file of annotations only reads as such, and is refused as a recording', async () => {
    const content = sampleContent();
    const bytes = await edfBytes(annotationsOnly(content));
    const { annotations } = await readEdfAnnotations(bytesSource('marks.edf', bytes));
    expect(annotations.filter(a => a.text === 'R-peak').map(a => Math.round((a.onsetSeconds - 0.25) * 250))).toEqual(
      content.annotations.filter(a => a.text === 'R-peak').map(a => Math.round(a.onsetSeconds * 250)),
    );
    await expect(open(bytes)).rejects.toThrow(/there are only annotations/);
  });

  test('damaged annotations do not harm the signal', async () => {
    const at = 1024 + 5 * recordBytes + 750;
    const opened = await open(patched(plain, at, '?????'));
    expect(opened.recording.sampleCount).toBe(5125);
    expect(opened.warnings).toEqual(['1 data records have damaged annotations, read as far as possible.']);
  });

  test('texts can be chosen as marks or segments', async () => {
    const opened = await readEdf(bytesSource('x', plain), { segmentTexts: ['seated radio watch'] }, nullSink);
    expect(opened.marks).toBeNull();
    expect(opened.segments).toEqual([{ name: 'seated radio watch', start: 0, end: 2500 }]);
  });

  test('a crowded record spills over into later ones and nothing is lost', async () => {
    const content = sampleContent();
    const crowd = Array.from({ length: 200 }, (_, i) => ({
      onsetSeconds: 3 + i / 1000,
      durationSeconds: null,
      text: `note ${i}`,
    }));
    const sink = memorySink();
    const opened = await open(await edfBytes({ ...content, annotations: crowd }), sink);
    expect(opened.annotations.filter(a => a.text.startsWith('note')).map(a => a.text)).toEqual(crowd.map(a => a.text));
    const again = await edfBytes(contentOf(opened, sink, 'V01'));
    expect(again).toEqual(await edfBytes({ ...content, annotations: crowd }));
  });
});

test('float and wide leads are stored in stated steps', async () => {
  const mv = Float32Array.from({ length: 500 }, (_, i) => Math.sin(i / 20) * 4.9);
  const wide = Int32Array.from({ length: 500 }, (_, i) => i * 1000 - 250_000);
  const leads = [
    lead('A', 250, 500, { format: 'float32', mvPerUnit: 1 }),
    lead('B', 250, 500, { format: 'int32', mvPerUnit: 0.00001 }),
    lead('C', 250, 500, { format: 'int32' }),
  ];
  const samples = [mv, wide, Int32Array.from(wave(500, 3))];
  const content = { recording: recordingWith(leads), leads: samples.map(arraySamples), annotations: [] };
  expect((await edfFile(content)).warnings).toEqual([
    'A is stored in steps of 0.2 uV.',
    'B is stored in steps of 0.1 uV.',
  ]);
  const sink = memorySink();
  const { recording } = await open(await edfBytes(content), sink);
  const value = (i: number, k: number) =>
    (sink.lead(i)[k]! - recording.leads[i]!.offset) * recording.leads[i]!.mvPerUnit;
  for (let k = 0; k < 500; k++) {
    expect(Math.abs(value(0, k) - mv[k]!)).toBeLessThanOrEqual(0.0001001);
    expect(Math.abs(value(1, k) - wide[k]! * 0.00001)).toBeLessThanOrEqual(0.0000501);
    expect(sink.lead(2)[k]).toBe(samples[2]![k]);
  }
});
