import { describe, expect, test } from 'vitest';
import { memorySink } from '../../../../src/formats/bytes/memory-sink';
import { bytesSource } from '../../../../src/formats/bytes/source';
import type { EdfAnnotation } from '../../../../src/formats/edf/annotations';
import { fromAnnotations } from '../../../../src/formats/edf/annotations';
import { readEdf } from '../../../../src/formats/edf/reader';
import { edfBytes } from '../../../../src/formats/edf/writer';
import { patched, referenceGaps, sampleContent } from './fixtures';

const open = async (bytes: Uint8Array) => {
  const sink = memorySink();
  return { sink, opened: await readEdf(bytesSource('day.edf', bytes), {}, sink) };
};
const plain = await edfBytes(sampleContent());
const signals = 3;

describe('headers', () => {
  test.each([
    ['UTF-8', '\xc2\xb5V      '],
    ['Latin-1', '\xb5V      '],
  ])('a unit µV in %s is a microvolt', async (_what, field) => {
    const { opened } = await open(patched(plain, 256 + signals * (16 + 80), field.slice(0, 8)));
    expect(opened.recording.leads[0]).toMatchObject({ fileUnit: 'µV', mvPerUnit: 0.000005 });
    expect(opened.warnings).toEqual([]);
  });

  test.each(['10.75.99', '24.00.00', '10.60.00', '10.00.60'])('a start at %s is none, and reported', async time => {
    const { opened } = await open(patched(plain, 176, time));
    expect(opened.recording.startedAt).toBeNull();
    expect(opened.warnings).toEqual([expect.stringContaining('is no valid date and time')]);
  });
});

test('onsets that jump in a file that calls itself continuous are gaps, and reported', async () => {
  const parted = await edfBytes(sampleContent(referenceGaps));
  const apart = await open(parted);
  const { opened, sink } = await open(patched(parted, 192, 'EDF+C'));
  expect(opened.header.kind).toBe('EDF+C');
  expect(opened.recording.gaps).toEqual(apart.opened.recording.gaps);
  expect(opened.recording.sampleCount).toBe(apart.opened.recording.sampleCount);
  expect(sink.lead(0)).toEqual(apart.sink.lead(0));
  expect(opened.warnings.join()).toMatch(/calls the recording continuous, but \d data records start later/);
});

describe('labels of annotations', () => {
  const clock = { samplingRateHz: 250, sampleCount: 250 * 120 };
  const at = (onsetSeconds: number, text: string): EdfAnnotation => ({ onsetSeconds, durationSeconds: null, text });
  /** A beat every 0.8 s, give or take; each tenth has another label. */
  const beats = Array.from({ length: 140 }, (_, i) => at(0.5 + 0.8 * i + 0.03 * Math.sin(i), i % 10 === 7 ? 'V' : 'N'));

  test('beats under another label are asked about, and taken when they are confirmed', () => {
    const asked = fromAnnotations(beats, clock);
    expect(asked.marks).toHaveLength(126);
    expect(asked.warnings).toEqual([
      'Annotations "V" (14) could be beats as well and are left out: say which labels are beats.',
    ]);
    expect(asked.groups.map(g => [g.text, g.count, g.use])).toEqual([
      ['N', 126, 'marks'],
      ['V', 14, 'none'],
    ]);
    const confirmed = fromAnnotations(beats, clock, { marksTexts: ['N', 'V'] });
    expect(confirmed.marks).toHaveLength(140);
    expect(confirmed.warnings).toEqual([]);
  });

  test('unnamed events as uneven as beats are asked about; even ones are none', () => {
    const uneven = beats.map(b => ({ ...b, text: 'trigger A' }));
    expect(fromAnnotations(uneven, clock)).toMatchObject({
      marks: null,
      warnings: [expect.stringContaining('"trigger A" (140) could be')],
    });
    const ticks = Array.from({ length: 100 }, (_, i) => at(i, 'stimulus'));
    expect(fromAnnotations(ticks, clock)).toMatchObject({ marks: null, warnings: [] });
    expect(fromAnnotations([...beats.filter(b => b.text === 'N'), ...ticks], clock).warnings).toEqual([]);
  });

  test('a choice of beats leaves segments as they were', () => {
    const rest: EdfAnnotation = { onsetSeconds: 10, durationSeconds: 60, text: 'rest' };
    expect(fromAnnotations([...beats, rest], clock, { marksTexts: ['V'] })).toMatchObject({
      segments: [{ name: 'rest' }],
    });
  });
});
