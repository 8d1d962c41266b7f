import { describe, expect, test } from 'vitest';
import { bytesSource } from '../../../../src/formats/bytes/source';
import {
  type EdfAnnotation,
  edfTexts,
  fromAnnotations,
  groupAnnotations,
} from '../../../../src/formats/edf/annotations';
import { readEdfHeader } from '../../../../src/formats/edf/header';
import { edfBytes } from '../../../../src/formats/edf/writer';
import { patched, sampleContent } from './fixtures';

const annotation = (onsetSeconds: number, text: string, durationSeconds: number | null = null): EdfAnnotation => ({
  onsetSeconds,
  durationSeconds,
  text,
});
const clock = { samplingRateHz: 100, sampleCount: 1000 };

// source: Kemp et al. 1992 and Kemp & Olivan 2003, 2.1.3.2: two-digit years count from 1985
test.each([
  ['14.03.85', '1985-03-14T08:30:00'],
  ['14.03.99', '1999-03-14T08:30:00'],
  ['14.03.00', '2000-03-14T08:30:00'],
  ['14.03.84', '2084-03-14T08:30:00'],
  ['01.01.85', '1985-01-01T08:30:00'],
])('a start of %s without a longer date is %s', async (date, startedAt) => {
  const bytes = patched(patched(await edfBytes(sampleContent()), 88, ' '.repeat(80)), 168, date);
  expect((await readEdfHeader(bytesSource('x', bytes))).startedAt).toBe(startedAt);
});

describe('annotations become', () => {
  // source: definition; samples 0 to 999, so a beat at 10 s lies behind the last one
  test('marks inside the recording, those outside are reported', () => {
    const beats = [-0.02, 0, 1, 1.001, 9.99, 10, 12].map(t => annotation(t, edfTexts.mark));
    const found = fromAnnotations(beats, clock);
    expect([...found.marks!]).toEqual([0, 100, 999]);
    expect(found.warnings).toEqual([
      expect.stringMatching(/^3 beat annotations lie outside/),
      expect.stringMatching(/^1 beat annotations repeat/),
    ]);
  });

  test('segments in the order of time, cut at the ends of the recording', () => {
    const list = [
      annotation(6, 'rest', 10),
      annotation(1, 'uphill walk', 5),
      annotation(-3, 'rest', 4),
      annotation(20, 'rest', 6),
    ];
    const { segments, warnings } = fromAnnotations(list, clock);
    expect(segments.map(({ start, end }) => [start, end])).toEqual([
      [0, 100],
      [100, 600],
      [600, 1000],
    ]);
    expect(warnings).toEqual([expect.stringMatching(/^1 segment annotations lie outside/)]);
  });

  test('gaps, an end or nothing by their texts, and segments from five seconds on', () => {
    const list = [
      annotation(0, edfTexts.noSignal, 30),
      annotation(1, edfTexts.end, 30),
      annotation(2, edfTexts.unreadable, 30),
      annotation(3, 'long', 5),
      annotation(4, 'short', 4.9),
    ];
    const uses = groupAnnotations(list).map(g => [g.text, g.use]);
    expect(Object.fromEntries(uses)).toEqual({
      [edfTexts.noSignal]: 'gaps',
      [edfTexts.end]: 'end',
      [edfTexts.unreadable]: 'none',
      long: 'segments',
      short: 'none',
    });
  });
});
