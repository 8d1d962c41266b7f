import { expect, test } from 'vitest';
import { memorySink } from '../../../src/formats/bytes/memory-sink';
import { type ByteSource, bytesSource } from '../../../src/formats/bytes/source';
import { readEdf } from '../../../src/formats/edf/reader';
import { edfBytes } from '../../../src/formats/edf/writer';
import { FormatError } from '../../../src/formats/format-error';
import { sniff } from '../../../src/formats/open';
import { previewText, type TextLayout } from '../../../src/formats/text/layout';
import { previewMarks } from '../../../src/formats/text/marks';
import { previewSegments } from '../../../src/formats/text/segments';
import { readTextSignal } from '../../../src/formats/text/signal';
import { sampleContent } from './edf/fixtures';

/** A line of 100 MB that is never held: counts the bytes that a reader asks for. */
function oneLine() {
  let asked = 0;
  const source: ByteSource = {
    name: 'line.csv',
    size: 1e8,
    async read(start, end) {
      const n = Math.min(end, 1e8) - start;
      asked += n;
      return new Uint8Array(n).fill(0x35);
    },
  };
  return { source, asked: () => asked };
}

const layout = async (): Promise<TextLayout> => ({
  ...(await previewText(bytesSource('x', new TextEncoder().encode('ECG (uV)\n5\n6\n7\n')))),
  samplingRateHz: 250,
});

test('a line of 100 MB is refused after at most one block of it', async () => {
  for (const read of [previewText, previewMarks, previewSegments]) {
    const line = oneLine();
    await expect(read(line.source)).rejects.toThrow(/line\.csv \(text\), byte 0: no line ends/);
    expect(line.asked()).toBeLessThan(2 ** 20);
  }
  const line = oneLine();
  await expect(readTextSignal(line.source, await layout(), memorySink())).rejects.toThrow(/no line ends within/);
  expect(line.asked()).toBeLessThanOrEqual(8 * 2 ** 20);
  const sniffed = oneLine();
  expect((await sniff(sniffed.source)).format).toBe('raw');
  expect(sniffed.asked()).toBeLessThan(2 ** 20);
});

test('EDF cut off anywhere gives the whole data records before the cut, or says that there are none', async () => {
  const whole = await edfBytes(sampleContent());
  const sink = memorySink();
  await readEdf(bytesSource('day.edf', whole), {}, sink);
  for (let cut = 0; cut < whole.length; cut += 997) {
    const part = memorySink();
    const read = readEdf(bytesSource('day.edf', whole.subarray(0, cut)), {}, part).then(
      opened => opened.recording.sampleCount,
      (error: unknown) => {
        expect(error).toBeInstanceOf(FormatError);
        return 0;
      },
    );
    const count = await read;
    if (count > 0) expect(part.lead(0)).toEqual(sink.lead(0).subarray(0, part.lead(0).length));
  }
});
