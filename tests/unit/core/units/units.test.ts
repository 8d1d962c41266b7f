import { expect, test } from 'vitest';
import { sampleIndex, span, toMs, toSample } from '../../../../src/core/units';

test('a sample index is a whole number from 0 on', () => {
  expect([0, 7].map(sampleIndex)).toEqual([0, 7]);
  for (const value of [-1, 0.5, Number.NaN, 2 ** 53]) expect(() => sampleIndex(value)).toThrow(RangeError);
});

test('a span may be empty and never ends before it starts', () => {
  expect(span(3, 3)).toEqual({ start: 3, end: 3 });
  expect(() => span(4, 3)).toThrow('[4, 3)');
  expect(() => span(-2, 3)).toThrow(RangeError);
});

test('seconds become the nearest sample, halves the later one', () => {
  expect([0, 0.0019, 0.002, 0.0021, 0.006, -1].map(t => toSample(t, 250))).toEqual([0, 0, 1, 1, 2, 0]);
  expect(toMs(1, 360)).toBeCloseTo(2.7778, 4);
});
