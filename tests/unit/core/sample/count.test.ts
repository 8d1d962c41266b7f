import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { marksFrom } from '../../../../src/core/marks/markset';
import { defaultMatchSettings } from '../../../../src/core/marks/match';
import type { Segment } from '../../../../src/core/recording/recording';
import { stretchCounter } from '../../../../src/core/sample/count';
import { cutIntoStretches } from '../../../../src/core/sample/stretches';
import { scoreRecording } from '../../../../src/core/score/score';
import { type Span, span } from '../../../../src/core/units';
import { amount } from '../../amount';

const rateHz = 100;

function scoreOf(beats: number[], marks: number[], segments: readonly Segment[], unreadable: Span[] = []) {
  return scoreRecording({
    beats: marksFrom(beats),
    marks: marksFrom(marks),
    unreadable,
    gaps: [],
    segments,
    samplingRateHz: rateHz,
    settings: defaultMatchSettings,
  });
}

const seconds = (...values: number[]) => values.map(v => Math.round(v * rateHz));
const whole: Segment = { name: 'whole', ...span(0, 2000) };
/** Beats at 0.5, 1.5 ... 19.5 s. */
const beats = Array.from({ length: 20 }, (_, i) => 50 + 100 * i);

describe('a stretch', () => {
  test('has the intervals that begin in it', () => {
    const count = stretchCounter(scoreOf(beats, beats, [whole]), [whole]);
    const stretches = cutIntoStretches([whole], rateHz, 5);
    // The last beat begins none.
    expect(stretches.map(count)).toEqual([
      { errors: 0, intervals: 5 },
      { errors: 0, intervals: 5 },
      { errors: 0, intervals: 5 },
      { errors: 0, intervals: 4 },
    ]);
  });

  test('gets the interval that reaches into the next one, and its mistake', () => {
    const marks = beats.filter(b => b !== 550);
    const count = stretchCounter(scoreOf(beats, marks, [whole]), [whole]);
    expect(count(span(0, 500))).toEqual({ errors: 1, intervals: 5 });
    expect(count(span(500, 1000))).toEqual({ errors: 1, intervals: 5 });
  });

  test('leaves out the interval across the end of its segment', () => {
    const parts: Segment[] = [
      { name: 'a', ...span(0, 1000) },
      { name: 'b', ...span(1000, 2000) },
    ];
    const count = stretchCounter(scoreOf(beats, beats, parts), parts);
    expect(count(span(500, 1000))).toEqual({ errors: 0, intervals: 4 });
  });

  test('loses its unreadable time over the local RR interval, unrounded', () => {
    // Unreadable from 3.2 to 6.8 s: 1.8 s of it in either stretch, at 1 s an interval.
    const count = stretchCounter(scoreOf(beats, beats, [whole], [span(320, 680)]), [whole]);
    expect(count(span(0, 500))).toEqual({ errors: 1.8, intervals: 3 - 1 + 1.8 });
    expect(count(span(500, 1000))).toEqual({ errors: 1.8, intervals: 3 + 1.8 });
  });

  test('without a judged interval anywhere has no count', () => {
    const count = stretchCounter(scoreOf(seconds(1), seconds(1), [whole], [span(300, 400)]), [whole]);
    expect(count(span(0, 500))).toBeNull();
  });

  test('that was cut from other segments is refused', () => {
    const count = stretchCounter(scoreOf(beats, beats, [whole]), [{ name: 'a', ...span(0, 500) }]);
    expect(() => count(span(500, 1000))).toThrow('none of the segments');
  });
});

describe('all stretches together', () => {
  const places = fc.uniqueArray(fc.nat({ max: 2999 }), { maxLength: 60 }).map(list => [...list].sort((a, b) => a - b));
  const spans = fc.array(
    fc.tuple(fc.nat({ max: 2900 }), fc.integer({ min: 1, max: 300 })).map(([a, n]) => span(a, Math.min(3000, a + n))),
    { maxLength: 3 },
  );

  test('have the judged and right intervals of the full score, and its unreadable time', () => {
    const segments: Segment[] = [
      { name: 'a', ...span(0, 1234) },
      { name: 'b', ...span(1300, 3000) },
    ];
    fc.assert(
      fc.property(places, places, spans, (reviewed, detected, unreadable) => {
        const score = scoreOf(reviewed, detected, segments, unreadable);
        const count = stretchCounter(score, segments);
        const counts = cutIntoStretches(segments, rateHz, 5).map(count);
        if (counts.includes(null)) return;
        const sum = (of: (c: { errors: number; intervals: number }) => number) =>
          counts.reduce((total, c) => total + of(c!), 0);
        const { judged, right } = score.total.counts;
        // Right ones are those that are neither wrong nor lost.
        expect(sum(c => c.intervals - c.errors)).toBeCloseTo(right, 6);
        if (unreadable.length === 0) expect(sum(c => c.intervals)).toBe(judged);
        else expect(sum(c => c.intervals)).toBeGreaterThanOrEqual(judged);
      }),
      { numRuns: amount(300, 30) },
    );
  });
});
