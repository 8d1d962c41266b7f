import fc from 'fast-check';
import { expect, test } from 'vitest';
import { distinctSegments, longestSegmentName } from '../../../../src/core/recording/segment-names';
import { span } from '../../../../src/core/units';

const named = (...names: string[]) => names.map((name, i) => ({ name, ...span(100 * i, 100 * i + 90) }));
const namesOf = (...names: string[]) => distinctSegments(named(...names)).segments.map(s => s.name);

test('a repeat gets the next free number, in the order of time', () => {
  expect(namesOf('rest', 'run', 'rest', 'rest (2)', 'rest')).toEqual([
    'rest',
    'run',
    'rest (3)',
    'rest (2)',
    'rest (4)',
  ]);
  expect(distinctSegments(named('rest', 'run', 'rest')).renamed).toEqual([
    'Two segments are called "rest": the later one is named "rest (2)".',
  ]);
});

test('any list becomes distinct, keeps its times, and stays as it is the second time', () => {
  const name = fc.oneof(fc.constantFrom('rest', 'rest (2)', 'rest (3)', 'r'.repeat(longestSegmentName)), fc.string());
  fc.assert(
    fc.property(fc.array(name, { maxLength: 12 }), names => {
      const before = named(...names);
      const { segments } = distinctSegments(before);
      expect(new Set(segments.map(s => s.name)).size).toBe(names.length);
      expect(segments.map(s => [s.start, s.end])).toEqual(before.map(s => [s.start, s.end]));
      expect(Math.max(0, ...segments.map(s => s.name.length))).toBeLessThanOrEqual(
        Math.max(longestSegmentName, ...names.map(n => n.length)),
      );
      expect(distinctSegments(segments)).toEqual({ segments, renamed: [] });
    }),
    { numRuns: 300, seed: 11 },
  );
});
