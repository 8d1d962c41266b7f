import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  addStretch,
  piecesOf,
  readAcross,
  stretches,
  wordCount,
  wordsBefore,
} from '../../../../src/core/recording/pieces';
import { type Span, span } from '../../../../src/core/units';

/** Lengths of stretches that were recorded and not recorded in turn. */
const lengths = fc.array(fc.tuple(fc.integer({ min: 1, max: 40 }), fc.integer({ min: 0, max: 60 })), {
  minLength: 1,
  maxLength: 8,
});

/** A time line with a number of its own for every recorded sample, and null for the others. */
function timeLine(parts: readonly (readonly [number, number])[]) {
  const line: (number | null)[] = [];
  const unrecorded: Span[] = [];
  for (const [recorded, missing] of parts) {
    for (let i = 0; i < recorded; i++) line.push(line.length);
    addStretch(unrecorded, line.length, line.length + missing);
    for (let i = 0; i < missing; i++) line.push(null);
  }
  const words = Int32Array.from(line.filter(v => v !== null));
  return { line, words, lead: { sampleCount: line.length, unrecorded } };
}

describe('a lead of which only what was recorded is kept', () => {
  // source: the same questions asked of a plain array with an element for every sample
  test('is read, counted and cut as if every sample were there', () => {
    const range = fc.tuple(fc.integer({ min: -5, max: 500 }), fc.integer({ min: -5, max: 500 }));
    fc.assert(
      fc.property(lengths, range, fc.integer({ min: 1, max: 50 }), (parts, [from, to], longest) => {
        const { line, words, lead } = timeLine(parts);
        const pieces = piecesOf(lead);
        const kept = (n: number) => line.slice(0, Math.max(0, n)).filter(v => v !== null).length;
        expect(wordCount(lead)).toBe(words.length);
        expect(wordsBefore(pieces, to)).toBe(kept(to));
        const read = readAcross(pieces, from, to, -7, (a, b) => words.subarray(a, b));
        const asked = line.slice(Math.max(0, from), Math.max(0, from, to));
        expect([...(read as Int32Array)]).toEqual(asked.map(v => v ?? -7));
        let at = Math.min(Math.max(0, from), line.length);
        for (const { start, end, recorded } of stretches(pieces, from, to, longest)) {
          expect(start).toBe(at);
          expect(end).toBeGreaterThan(start);
          expect(line.slice(start, end).every(v => (v !== null) === recorded)).toBe(true);
          if (recorded) expect(end - start).toBeLessThanOrEqual(longest);
          at = end;
        }
        expect(at).toBe(Math.max(Math.min(Math.max(0, from), line.length), Math.min(to, line.length)));
      }),
      { numRuns: 400, seed: 5 },
    );
  });

  test('gives a promise when its words are on the way', async () => {
    const { words, lead } = timeLine([
      [2, 2],
      [2, 0],
    ]);
    const read = readAcross(piecesOf(lead), 1, 5, 0, async (a, b) => words.subarray(a, b));
    expect(await read).toEqual(Int32Array.of(1, 0, 0, 4));
  });

  test('joins stretches that touch', () => {
    const list: Span[] = [];
    addStretch(list, 3, 3);
    addStretch(list, 3, 5);
    addStretch(list, 5, 9);
    addStretch(list, 10, 11);
    expect(list).toEqual([span(3, 9), span(10, 11)]);
  });
});
