import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { apply, spanOperation, startReview } from '../../../../src/core/marks/edit';
import { noMarks } from '../../../../src/core/marks/markset';
import { include, normalise, union } from '../../../../src/core/marks/spans';
import { span } from '../../../../src/core/units';

const anySpan = fc
  .tuple(fc.nat(60), fc.integer({ min: 1, max: 12 }))
  .map(([start, length]) => span(start, start + length));
const anyList = fc.array(anySpan, { maxLength: 12 }).map(normalise);

// source: set algebra; union is the slow and obviously right way.
describe('include', () => {
  test('is the union with one span', () => {
    fc.assert(
      fc.property(anyList, anySpan, (list, one) => {
        expect(include(list, one)).toEqual(union(list, [one]));
      }),
    );
  });

  test('joins what touches on either side, at the first sample too', () => {
    expect(include([span(0, 3), span(5, 7)], span(3, 5))).toEqual([span(0, 7)]);
    expect(include([span(1, 2)], span(0, 1))).toEqual([span(0, 2)]);
    expect(include([], span(0, 1))).toEqual([span(0, 1)]);
  });
});

// source: definition of a difference; applied to the one list it must give the other.
describe('spanOperation', () => {
  test('turns any normalised list into any other and names no span that both have', () => {
    fc.assert(
      fc.property(anyList, anyList, (before, after) => {
        const operation = spanOperation('seen', before, after);
        const state = { ...startReview(noMarks), seen: before };
        expect(apply(state, [operation]).seen).toEqual(after);
        if (operation.op !== 'seen') throw new Error('another list');
        const both = operation.removed.filter(r => operation.added.some(a => a.start === r.start && a.end === r.end));
        expect(both).toEqual([]);
      }),
    );
  });
});
