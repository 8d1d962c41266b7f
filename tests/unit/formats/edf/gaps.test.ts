import { describe, expect, test } from 'vitest';
import { marksFrom } from '../../../../src/core/marks/markset';
import type { SampleArray } from '../../../../src/core/recording/recording';
import { span } from '../../../../src/core/units';
import { memorySink } from '../../../../src/formats/bytes/memory-sink';
import { bytesSource } from '../../../../src/formats/bytes/source';
import { toAnnotations } from '../../../../src/formats/edf/annotations';
import { readEdf } from '../../../../src/formats/edf/reader';
import { edfBytes } from '../../../../src/formats/edf/writer';
import { contentOf, lead, recordingWith, wave } from './fixtures';

const day = 86_400 * 250;

/** Five seconds, 60 days later five more: a few kB. */
async function sixtyDays(annotations: Parameters<typeof edfBytes>[0]['annotations'] = []) {
  const gap = span(1250, 60 * day);
  const words = wave(2500, 3);
  const whole = { ...lead('ECG', 250, gap.end + 1250), unrecorded: [gap] };
  const read = (start: number, end: number): SampleArray => {
    const [first, last] = start < gap.start ? [start, end] : [start - gap.end + 1250, end - gap.end + 1250];
    return words.subarray(first, last);
  };
  const recording = recordingWith([whole], { gaps: [gap] });
  const content = { recording, leads: [{ sampleCount: whole.sampleCount, read }], annotations, participant: 'V01' };
  return { gap, words, bytes: await edfBytes(content) };
}

describe('a recording of weeks that is mostly gap', () => {
  test('keeps as many words as the file has, with every sample number where it was', async () => {
    const marks = marksFrom([200, 400, 60 * day + 200]);
    const { gap, words, bytes } = await sixtyDays(toAnnotations(marks, [], 250));
    expect(bytes.length).toBeLessThan(8000);
    const sink = memorySink();
    const opened = await readEdf(bytesSource('long.edf', bytes), {}, sink);
    expect(opened.recording).toMatchObject({ sampleCount: 60 * day + 1250, gaps: [gap] });
    expect(opened.recording.leads[0]).toMatchObject({ sampleCount: 60 * day + 1250, unrecorded: [gap] });
    expect(sink.lead(0)).toEqual(words);
    expect(opened.marks).toEqual(marks);
    expect(opened.warnings).toEqual([]);
    expect(await edfBytes(contentOf(opened, sink, 'V01'))).toEqual(bytes);
  });

  test('tells the sink of the gap between the words on either side', async () => {
    const { gap, bytes } = await sixtyDays();
    const calls: string[] = [];
    await readEdf(
      bytesSource('long.edf', bytes),
      {},
      {
        write: (_, w) => void calls.push(`write ${w.length}`),
        skip: (_, count) => void calls.push(`skip ${count}`),
      },
    );
    expect(calls.filter(c => c.startsWith('skip'))).toEqual([`skip ${gap.end - gap.start}`]);
    expect(calls[0]).toBe('write 1250');
    expect(calls.at(-1)).toMatch(/^write/);
  });
});
