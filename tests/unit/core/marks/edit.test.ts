import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { apply, type Change, invert, spanOperation, startReview } from '../../../../src/core/marks/edit';
import { marksFrom } from '../../../../src/core/marks/markset';
import { normalise } from '../../../../src/core/marks/spans';
import { sampleIndex, span } from '../../../../src/core/units';
import { amount } from '../../amount';

const s = sampleIndex;
const start = startReview(marksFrom([10, 20, 30]));

// source: set algebra; each expected state is written out by hand.
describe('apply', () => {
  test('marks', () => {
    const change: Change = [{ op: 'marks', removed: [s(20)], added: [s(25), s(5)] }];
    expect([...apply(start, change).marks]).toEqual([5, 10, 25, 30]);
    expect([...start.marks]).toEqual([10, 20, 30]);
  });

  test('notes stay sorted by place and are replaced as a whole', () => {
    const late = { id: 'a', kind: 'comment', start: s(25), end: s(28), text: 'late' } as const;
    const early = { id: 'b', kind: 'flag', start: s(3), end: s(3), text: '' } as const;
    const both = apply(start, [
      { op: 'note', before: null, after: late },
      { op: 'note', before: null, after: early },
    ]);
    expect(both.notes).toEqual([early, late]);
    const moved = { ...late, start: s(1) };
    expect(apply(both, [{ op: 'note', before: late, after: moved }]).notes).toEqual([moved, early]);
  });

  test('what does not fit the state throws', () => {
    const wrong: Change[] = [
      [{ op: 'marks', removed: [s(21)], added: [] }],
      [{ op: 'marks', removed: [], added: [s(20)] }],
      [{ op: 'unreadable', removed: [span(1, 2)], added: [] }],
      [
        { op: 'seen', removed: [], added: [span(1, 5)] },
        { op: 'seen', removed: [], added: [span(5, 9)] },
      ],
      [{ op: 'dismissal', before: { reason: 'gap', at: s(4) }, after: null }],
      [
        { op: 'signOff', before: null, after: { segment: 'rest', at: '2026-02-15T10:00:00Z', reason: null } },
        { op: 'signOff', before: null, after: { segment: 'rest', at: '2026-02-15T11:00:00Z', reason: null } },
      ],
    ];
    for (const change of wrong) expect(() => apply(start, change)).toThrow(RangeError);
  });
});

describe('invert', () => {
  const marks = fc.uniqueArray(fc.integer({ min: 0, max: 60 }), { maxLength: 20 });
  const spans = fc
    .array(fc.tuple(fc.integer({ min: 0, max: 60 }), fc.integer({ min: 0, max: 9 })), { maxLength: 6 })
    .map(list => normalise(list.map(([a, n]) => span(a, a + n))));

  test('gives back the state before, for marks and every kind of span list', () => {
    const list = fc.constantFrom('unreadable', 'accepted', 'seen' as const);
    fc.assert(
      fc.property(marks, marks, spans, spans, list, (before, after, spansBefore, spansAfter, op) => {
        const review = { ...startReview(marksFrom(before)), [op]: spansBefore };
        const change: Change = [
          {
            op: 'marks',
            removed: before.filter(m => !after.includes(m)).map(s),
            added: after.filter(m => !before.includes(m)).map(s),
          },
          spanOperation(op as 'seen', spansBefore, spansAfter),
        ];
        const there = apply(review, change);
        expect([...there.marks]).toEqual([...after].sort((a, b) => a - b));
        expect(there[op as 'seen']).toEqual(spansAfter);
        expect(apply(there, invert(change))).toEqual(review);
        expect(invert(invert(change))).toEqual(change);
      }),
      { numRuns: amount(500, 60), seed: 20260214 },
    );
  });
});
