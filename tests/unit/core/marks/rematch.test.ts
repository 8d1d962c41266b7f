import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { differing, type Marks, marksFrom } from '../../../../src/core/marks/markset';
import { defaultMatchSettings, match } from '../../../../src/core/marks/match';
import { rematch } from '../../../../src/core/marks/rematch';
import { type Span, span } from '../../../../src/core/units';
import { amount } from '../../amount';

const rateHz = 100;
const within = { samplingRateHz: rateHz, settings: defaultMatchSettings };
const plain = (beats: Marks, marks: Marks, excluded: readonly Span[]) =>
  match(beats, marks, excluded, rateHz, defaultMatchSettings);

/** Lists with easy stretches and crowded ones: mostly a beat a second with its mark, and anything at all put among them. */
const lists = fc
  .record({
    seconds: fc.integer({ min: 0, max: 30 }),
    shift: fc.integer({ min: -5, max: 5 }),
    beats: fc.array(fc.integer({ min: 0, max: 3000 }), { maxLength: 12 }),
    marks: fc.array(fc.integer({ min: 0, max: 3000 }), { maxLength: 12 }),
  })
  .map(({ seconds, shift, beats, marks }) => {
    const steady = Array.from({ length: seconds }, (_, i) => 50 + i * 100);
    return { beats: marksFrom([...steady, ...beats]), marks: marksFrom([...steady.map(s => s + shift), ...marks]) };
  });

const spans = fc
  .array(fc.tuple(fc.integer({ min: 0, max: 3000 }), fc.integer({ min: 0, max: 200 })), { maxLength: 2 })
  .map(all => all.map(([a, n]) => span(a, a + n)));

/** A mark taken out, and one put in. */
const changed = (marks: Marks, out: number, into: number): Marks =>
  marksFrom([...marks.filter((_, i) => i !== out), into]);

describe('rematch', () => {
  test('gives to the last index what a match from nothing gives, after edits of either list and of the spans', () => {
    const edit = fc.record({
      beat: fc.integer({ min: 0, max: 40 }),
      mark: fc.integer({ min: 0, max: 40 }),
      at: fc.integer({ min: 0, max: 3000 }),
      // Most crowd about a beat: within, at the end of and just beyond what is on the peak.
      beside: fc.option(fc.integer({ min: -12, max: 12 }), { freq: 4 }),
      kind: fc.constantFrom('beats', 'marks', 'both', 'spans', 'none'),
      spans,
    });
    fc.assert(
      fc.property(lists, spans, fc.array(edit, { minLength: 1, maxLength: 4 }), (first, firstSpans, edits) => {
        let { beats, marks } = first;
        let excluded: readonly Span[] = firstSpans;
        let matching = plain(beats, marks, excluded);
        for (const e of edits) {
          const at = e.beside === null ? e.at : Math.max(0, (beats[e.at % 31] ?? e.at) + e.beside);
          if (e.kind === 'beats' || e.kind === 'both') beats = changed(beats, e.beat, at);
          if (e.kind === 'marks' || e.kind === 'both') marks = changed(marks, e.mark, at + 3);
          if (e.kind === 'spans') excluded = e.spans;
          matching = rematch(matching, beats, marks, excluded, within);
          expect(matching).toEqual(plain(beats, marks, excluded));
        }
      }),
      { numRuns: amount(2500, 300), seed: 20261129 },
    );
  });

  test('the same of lists that have nothing in common', () => {
    fc.assert(
      fc.property(lists, lists, spans, (a, b, excluded) => {
        const matching = plain(a.beats, a.marks, []);
        expect(rematch(matching, b.beats, b.marks, excluded, within)).toEqual(plain(b.beats, b.marks, excluded));
      }),
      { numRuns: amount(1000, 100), seed: 20261130 },
    );
  });

  test.each([
    ['a beat put in for another', 5000, 500_000, 0],
    ['a beat taken out', 5000, 50, -1],
    ['a beat put in', -1, 500_000, 1],
  ])('looks again only at what is near: %s', (_, out, into, by) => {
    const steady = marksFrom(Array.from({ length: 10_000 }, (_, i) => 50 + i * 100));
    const before = plain(steady, steady, []);
    // Were they looked at again, these would not stay.
    before.markOfBeat[100] = 7;
    before.markOfBeat[9000] = 7;
    const now = rematch(before, changed(steady, out, into), steady, [], within);
    expect([now.markOfBeat[100], now.markOfBeat[9000 + by]]).toEqual([7, 7]);
    expect(now.marksOffPeak.length).toBe(out === -1 ? 0 : 1);
  });
});

describe('differing', () => {
  test.each([
    [[], [], { from: 0, to: 0 }],
    [[1, 2, 3], [1, 2, 3], { from: 3, to: 0 }],
    [[1, 2, 3], [1, 3], { from: 1, to: 2 }],
    [[1, 3], [1, 2, 3], { from: 1, to: 1 }],
    [[1, 2, 3], [1, 9, 11], { from: 1, to: 3 }],
    [[1], [], { from: 0, to: 1 }],
  ])('of %j and %j is %j', (a, b, range) => {
    expect(differing(marksFrom(a), marksFrom(b))).toEqual(range);
  });
});
