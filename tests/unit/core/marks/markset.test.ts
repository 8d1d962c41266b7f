import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { type Marks, MarksInPlace, marksFrom, replace } from '../../../../src/core/marks/markset';
import { type SampleIndex, sampleIndex } from '../../../../src/core/units';
import { amount } from '../../amount';

type Replace = (marks: Marks, removed: readonly SampleIndex[], added: readonly SampleIndex[]) => Marks;

/** The marks as a list, or what was thrown. */
function outcome(by: Replace, marks: Marks, removed: readonly SampleIndex[], added: readonly SampleIndex[]) {
  try {
    const after = by(marks, removed, added);
    return { after, list: [...after] };
  } catch (error) {
    return { after: null, list: String(error) };
  }
}

describe('marks changed in place', () => {
  test('equal those replaced one by one, errors too, and leave the first ones alone', () => {
    const some = fc.uniqueArray(fc.integer({ min: 0, max: 20 }), { maxLength: 4 });
    const steps = fc.array(fc.record({ removed: some, added: some }), { maxLength: 12 });
    fc.assert(
      fc.property(fc.uniqueArray(fc.integer({ min: 0, max: 20 })), steps, (start, changes) => {
        const first = marksFrom(start);
        const kept = [...first];
        const inPlace = new MarksInPlace();
        let plain = first;
        let now = first;
        for (const { removed, added } of changes) {
          const args = [removed.map(sampleIndex), added.map(sampleIndex)] as const;
          const expected = outcome(replace, plain, ...args);
          const got = outcome((...given) => inPlace.replace(...given), now, ...args);
          expect(got.list).toEqual(expected.list);
          if (!expected.after || !got.after) break;
          plain = expected.after;
          now = got.after;
        }
        expect([...first]).toEqual(kept);
      }),
      { numRuns: amount(2000, 300), seed: 20261128 },
    );
  });

  test('go on from any other marks as well', () => {
    const inPlace = new MarksInPlace();
    inPlace.replace(marksFrom([1, 2, 3]), [sampleIndex(2)], []);
    expect([...inPlace.replace(marksFrom([7, 9]), [], [sampleIndex(8)])]).toEqual([7, 8, 9]);
  });
});
